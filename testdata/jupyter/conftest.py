"""Real Jupyter clients against the kernel: fixtures.

Run by .ci/run, or by hand:  python -m pytest testdata/jupyter
COUNTERPOISE names a program to test; without it the program is built.
"""
import contextlib
import json
import os
import pathlib
import subprocess
import sys
import time

import pytest
from jupyter_client.manager import KernelManager

ROOT = pathlib.Path(__file__).resolve().parents[2]
WAIT = float(os.environ.get("COUNTERPOISE_WAIT", "60"))  # seconds that anything may take; nothing is asserted about speed
CHROMIUM = os.environ.get("CHROMIUM", "/usr/bin/chromium")
# No sandbox, since CI runs as root; the rest keeps the browser from looking for its maker's hosts.
FLAGS = ["--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
         "--disable-component-update", "--disable-sync"]
TOKEN = "quay"


@pytest.fixture(scope="session", autouse=True)
def place(tmp_path_factory):
    """A folder with the program and its kernelspec, which Jupyter knows."""
    place = tmp_path_factory.mktemp("jupyter")
    program = os.environ.get("COUNTERPOISE")
    if not program:
        program = str(place / "counterpoise")
        subprocess.run(["go", "build", "-o", program, "./kernel/cmd/counterpoise"], cwd=ROOT, check=True)
    subprocess.run([program, "kernel", "install", "--prefix", str(place)], check=True)
    os.environ["COUNTERPOISE"] = program
    os.environ["JUPYTER_PATH"] = str(place / "share" / "jupyter")
    for name in ("config", "data", "runtime"):
        os.environ["JUPYTER_%s_DIR" % name.upper()] = str(place / name)
    return place


@pytest.fixture(scope="session")
def worksheet(place):
    """A student's notebook, built from the library's first worksheet."""
    folder = place / "worksheet"
    source = ROOT / "worksheets" / "library" / "balance-point"
    subprocess.run([os.environ["COUNTERPOISE"], "build", str(source), "--to", str(folder)], check=True)
    return folder / "balance-point.ipynb"


@contextlib.contextmanager
def jupyterlab(root, **settings):
    """A JupyterLab server that shows the folder root; its address. Settings go by the paths of its plugins."""
    own = root.parent / (root.name + "-server")
    for plugin, values in settings.items():
        file = own / "settings" / "@jupyterlab" / (plugin + ".jupyterlab-settings")
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(json.dumps(values))
    runtime = own / "runtime"
    runtime.mkdir(parents=True)
    environment = {**os.environ, "JUPYTER_RUNTIME_DIR": str(runtime), "JUPYTERLAB_SETTINGS_DIR": str(own / "settings"),
                   "JUPYTERLAB_WORKSPACES_DIR": str(own / "workspaces")}
    with open(own / "lab.log", "w") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", "--no-browser", "--allow-root", "--port=0", "--ServerApp.root_dir=%s" % root,
             "--IdentityProvider.token=" + TOKEN, "--LabApp.news_url=", "--LabApp.expose_app_in_browser=True"],
            stdout=log, stderr=log, env=environment)
        try:
            yield address(runtime, server)
        finally:
            server.terminate()
            server.wait(WAIT)


def address(runtime, server):
    end = time.monotonic() + WAIT
    while time.monotonic() < end and server.poll() is None:
        for file in runtime.glob("jpserver-*.json"):
            try:
                return json.loads(file.read_text())["url"]
            except ValueError:
                pass  # it is being written
        time.sleep(0.1)
    raise RuntimeError("JupyterLab does not start: see lab.log")


class Kernel:
    """A running kernel and one client of it."""

    def __init__(self, **manager):
        self.manager = KernelManager(kernel_name="counterpoise", **manager)
        self.manager.start_kernel()
        self.client = self.manager.client()
        self.client.start_channels()
        self.client.wait_for_ready(timeout=WAIT)

    def close(self):
        self.client.stop_channels()
        self.manager.shutdown_kernel()

    def until(self, channel, wanted):
        """The first message of a channel for which wanted is true."""
        end = time.monotonic() + WAIT
        while time.monotonic() < end:
            message = channel(timeout=max(0.1, end - time.monotonic()))
            if wanted(message):
                return message
        raise TimeoutError("the message never came")

    def reply(self, request):
        return self.until(self.client.get_shell_msg, lambda m: m["parent_header"].get("msg_id") == request)

    def shown(self, request):
        """All iopub messages of a request, up to its idle."""
        found = []
        while not found or found[-1]["content"].get("execution_state") != "idle":
            found.append(self.until(self.client.get_iopub_msg, lambda m: m["parent_header"].get("msg_id") == request))
        return found

    def run(self, code, **flags):
        request = self.client.execute(code, **flags)
        return self.reply(request)["content"], self.shown(request)

    def value(self, code):
        """The plain text of a cell's result."""
        content, shown = self.run(code)
        assert content["status"] == "ok", content
        return [m for m in shown if m["msg_type"] == "execute_result"][0]["content"]["data"]["text/plain"]


@pytest.fixture(scope="module")
def kernel(place):
    kernel = Kernel()
    yield kernel
    kernel.close()
