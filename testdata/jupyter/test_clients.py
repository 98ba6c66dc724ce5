"""Programs that run notebooks: nbclient, nbconvert and the console."""
import json
import os
import subprocess
import sys

import nbclient
import nbformat
import pexpect
from conftest import WAIT


def outputs(notebook):
    return [o for c in notebook.cells if c.cell_type == "code" for o in c.outputs]


def test_nbclient(worksheet):
    notebook = nbformat.read(worksheet, as_version=4)
    nbclient.NotebookClient(notebook, timeout=WAIT, kernel_name="counterpoise").execute()
    nbformat.validate(notebook)
    kinds = {kind for o in outputs(notebook) if "data" in o for kind in o.data}
    assert {"image/svg+xml", "image/png", "text/plain", "text/html"} <= kinds
    assert not [o for o in outputs(notebook) if o.output_type == "error"]


def test_nbclient_stops_at_an_error(place):
    notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(c) for c in ("1", 'panic("slipped")', "3")])
    client = nbclient.NotebookClient(notebook, timeout=WAIT, kernel_name="counterpoise")
    try:
        client.execute()
    except nbclient.exceptions.CellExecutionError as err:
        assert "slipped" in str(err)
    else:
        raise AssertionError("the error was not noticed")
    assert notebook.cells[2].execution_count is None


def test_nbconvert(worksheet, tmp_path):
    subprocess.run([sys.executable, "-m", "nbconvert", "--to", "notebook", "--execute", "--output-dir", str(tmp_path), str(worksheet)], check=True, timeout=4 * WAIT)
    notebook = nbformat.read(tmp_path / worksheet.name, as_version=4)
    assert notebook.metadata.language_info.name == "go"
    assert all(c.execution_count for c in notebook.cells if c.cell_type == "code" and c.source)
    subprocess.run([sys.executable, "-m", "nbconvert", "--to", "script", "--output-dir", str(tmp_path), str(worksheet)], check=True, timeout=WAIT)
    assert (tmp_path / "balance-point.go").exists()


def test_console(place):
    console = pexpect.spawn(sys.executable, ["-m", "jupyter_console", "--kernel", "counterpoise", "--simple-prompt"], timeout=WAIT, encoding="utf-8", env={**os.environ, "TERM": "dumb"})
    try:
        console.expect(r"In \[1\]:")
        console.sendline("20 + 22")
        console.expect(r"Out\[1\]:\s*42")
        console.expect(r"In \[2\]:")
        console.sendline('panic("slipped")')
        console.expect("slipped")
        console.expect(r"In \[3\]:")
        console.sendeof()
        console.expect("really want to exit")
        console.sendline("y")
        console.expect(pexpect.EOF)
    finally:
        console.close(force=True)


def test_kernelspec(place):
    spec = json.loads((place / "share/jupyter/kernels/counterpoise/kernel.json").read_text())
    assert os.path.isabs(spec["argv"][0]) and spec["argv"][-1] == "{connection_file}"
    assert (spec["language"], spec["interrupt_mode"]) == ("go", "message")
    listed = subprocess.run([sys.executable, "-m", "jupyter", "kernelspec", "list", "--json"], check=True, capture_output=True, text=True)
    assert "counterpoise" in json.loads(listed.stdout)["kernelspecs"]
    logos = sorted(p.name for p in (place / "share/jupyter/kernels/counterpoise").glob("logo*"))
    assert logos == ["logo-32x32.png", "logo-64x64.png", "logo-svg.svg"]
