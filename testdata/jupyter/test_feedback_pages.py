"""Marking in a browser: what hostile scripts wrote runs nowhere, and the pages are fit to read.

The corpus sets a sentinel off in every way that we know: a changed title, a line on the console, a dialog, a request.
COUNTERPOISE_PICTURES names a folder for screenshots to look at.
"""
import json
import os
import re
import shutil
import subprocess

import pytest
from conftest import WAIT
from playwright.sync_api import sync_playwright
from test_lab import CHROMIUM, FLAGS
from test_library import FAULTS, TOO_WIDE

OFF = "document.title='SET OFF';console.log('SET OFF');alert('SET OFF')"
FAR = "http://203.0.113.7/set-off"  # RFC 5737: an address that is nobody's
HOSTILE = [
    "<script>%s</script>" % OFF,
    "<SCRIPT SRC=%s.js></SCRIPT>" % FAR,
    "<img src=x onerror=\"%s\">" % OFF,
    "<img src=%s.png>" % FAR,
    "<svg onload=\"%s\"><circle r=9></svg>" % OFF,
    "<svg><script>%s</script></svg>" % OFF,
    "<math><mtext><img src=x onerror=\"%s\"></mtext></math>" % OFF,
    "<iframe srcdoc=\"<script>parent.%s</script>\"></iframe>" % OFF.replace("document", "document", 1),
    "<iframe src=\"javascript:%s\"></iframe>" % OFF,
    "<a href=\"javascript:%s\">press</a>" % OFF,
    "<form action=%s><input autofocus onfocus=\"%s\"></form>" % (FAR, OFF),
    "<details open ontoggle=\"%s\"><summary>x</summary></details>" % OFF,
    "<body onload=\"%s\">" % OFF,
    "<base href=%s>" % FAR,
    "<link rel=stylesheet href=%s.css>" % FAR,
    "<meta http-equiv=refresh content=\"0;url=%s\">" % FAR,
    "<style>@import '%s.css'; body{background:url(%s.png)}</style>" % (FAR, FAR),
    "</pre></p></section></main></div><script>%s</script>" % OFF,
    "</style><script>%s</script>" % OFF,
    "</title><script>%s</script>" % OFF,
    "--><script>%s</script><!--" % OFF,
    "]]><script>%s</script>" % OFF,
    "\"><script>%s</script>" % OFF,
    "'><script>%s</script>" % OFF,
    "`;%s;//" % OFF,
    "{{constructor.constructor(\"%s\")()}}" % OFF,
    "${%s}" % OFF,
    "$\\href{javascript:%s}{x}$" % OFF,
    "\\text{<img src=x onerror=\"%s\">}" % OFF,
    "\\htmlData{x=<script>%s</script>}{y}" % OFF,
    "![x](javascript:%s) [x](javascript:%s) ![x](%s.png)" % (OFF, OFF, FAR),
    "[x]: javascript:%s\n\n[x]" % OFF,
    "<javascript:%s>" % OFF,
    "&lt;script&gt;%s&lt;/script&gt; &#60;script&#62;%s&#60;/script&#62;" % (OFF, OFF),
    "\u2028<script>%s</script>\u2029" % OFF,
    "+ADw-script+AD4-%s+ADw-/script+AD4-" % OFF,
    "<scr\x00ipt>%s</scr\x00ipt>" % OFF,
    "\ud83e\udea4<x-trap is=script>%s</x-trap>" .encode("utf-16", "surrogatepass").decode("utf-16") % OFF,
    "x = <img src=x onerror=%s>" % OFF.replace(";", ","),
]
SHEET = """---
title: A sheet to be attacked
params:
  m: {value: 18.0 g, means: mass}
---

Invented, for a test.

```question
name: far
kind: number
ask: How heavy?
key: 2 m
unit: g
```

```question
name: formula
kind: expression
ask: As a formula?
key: 2 m
```

```question
name: steps
kind: derivation
ask: Derive it.
symbols: {a: m, b: m}
given: ["a = 2 b"]
target: b = a/2
marks: 2
```

```question
name: which
kind: choice
ask: Which?
options: [{text: one, right: true}, {text: two}]
```

```question
name: why
kind: prose
ask: Why?
points: [because]
marks: 2
```
"""


@pytest.fixture(scope="module")
def marked(place):
    """A folder that holds what came of a class whose every student is hostile."""
    folder = place / "attacked"
    (folder / "sheet").mkdir(parents=True)
    (folder / "sheet" / "worksheet.md").write_text(SHEET, encoding="utf-8")
    rows = ["id,name,email"]
    for i, text in enumerate(HOSTILE):
        name = " ".join(re.sub(r"[\x00-\x1f\u2028\u2029]", " ", text).split()).replace('"', '""')
        rows.append('<b>%02d</b>,"%s",x@school.example' % (i, name))
    (folder / "class.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
    run = lambda *args: subprocess.run([os.environ["COUNTERPOISE"], *map(str, args)], check=True, timeout=6 * WAIT,
                                       capture_output=True, text=True)
    run("hand-out", folder / "sheet", "--class", folder / "class.csv", "--to", folder / "out")
    key = next((folder / "out" / "tutor-only").glob("*.key.json"))
    students = json.loads(key.read_text(encoding="utf-8"))["students"]
    scripts = folder / "handed-in"
    scripts.mkdir()
    for i, (student, text) in enumerate(zip(students, HOSTILE)):
        notebook = json.loads((folder / "out" / student["file"]).read_text(encoding="utf-8"))
        for cell in notebook["cells"]:
            source = cell["source"] if isinstance(cell["source"], str) else "".join(cell["source"])
            if source.startswith(("//worksheet:answer", "//worksheet:derive")):
                cell["source"] = source.rstrip("\n") + "\n" + text
                cell["outputs"] = [{"output_type": "display_data", "metadata": {}, "data": {"text/html": text}}]
        notebook["cells"].append({"cell_type": "code", "id": "more", "metadata": {}, "outputs": [], "execution_count": None,
                                  "source": "//worksheet:answer " + "".join(text.split()) + "\n1"})
        notebook["cells"].append({"cell_type": "markdown", "id": "prose", "metadata": {}, "source": text})
        name = re.sub(r"[\x00/]", "_", text)[:60].encode("utf-8", "replace")
        with open(os.path.join(os.fsencode(scripts), b"%02d" % i + name + b".ipynb"), "w", encoding="utf-8") as out:
            json.dump(notebook, out)
    for i, text in enumerate(HOSTILE):  # files that are no notebooks stand on the report with their names
        with open(os.path.join(os.fsencode(scripts), b"no%02d" % i + re.sub(r"[\x00/]", "_", text)[:60].encode("utf-8", "replace")), "w") as out:
            out.write("<script>%s</script>" % OFF)
    told = run("mark", scripts, "--key", key, "--to", folder / "marked")
    assert told.stdout.startswith("%d scripts, %d marked" % (len(HOSTILE), len(HOSTILE))), told.stdout
    return folder / "marked", key


@pytest.fixture(scope="module")
def browser(place):
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


def watched(context):
    """A page of which everything that a script could do is in its log."""
    page = context.new_page()
    page.log = []
    page.on("console", lambda m: page.log.append("console: " + m.text))
    page.on("pageerror", lambda e: page.log.append("error: %s" % e))
    page.on("request", lambda r: page.log.append("request: " + r.url))
    page.on("popup", lambda p: page.log.append("popup"))

    def dialog(d):
        page.log.append("dialog: " + d.message)
        d.dismiss()
    page.on("dialog", dialog)
    return page


def picture(page, name):
    folder = os.environ.get("COUNTERPOISE_PICTURES")
    if folder:
        page.screenshot(path="%s/%s.png" % (folder, name), full_page=True)


@pytest.mark.parametrize("width", [390, 1280])
def test_pages_run_nothing(marked, browser, width):
    folder, _ = marked
    context = browser.new_context(viewport={"width": width, "height": 844})
    page = watched(context)
    files = [folder / "report.html"] + sorted((folder / "feedback").iterdir())
    assert len(files) == 1 + len(HOSTILE)
    for file in files:
        page.log.clear()
        page.goto(file.as_uri())
        title = page.title()
        for link in page.locator("a, summary, input, button").all():
            link.dispatch_event("click")
        assert page.log == ["request: " + file.as_uri()], file
        assert page.title() == title and "SET OFF" not in title, file
        assert page.evaluate(FAULTS.replace("shown && /", "false && /")) == [], file  # answers may hold $
        assert page.evaluate(TOO_WIDE) == [], file
    page.goto(files[0].as_uri())
    picture(page, "attacked-report-%d" % width)
    page.goto(files[1].as_uri())
    picture(page, "attacked-feedback-%d" % width)
    context.close()


def test_sentinel_is_seen(browser, tmp_path):
    """What the tests look for is found where nothing holds it back."""
    (tmp_path / "open.html").write_text("<title>x</title>" + "".join(HOSTILE[:4]), encoding="utf-8")
    context = browser.new_context()
    page = watched(context)
    page.goto((tmp_path / "open.html").as_uri())
    page.wait_for_function("document.title === 'SET OFF'")
    kinds = {line.split(":")[0] for line in page.log}
    assert {"console", "dialog", "request"} <= kinds, page.log
    assert any(FAR in line for line in page.log)
    context.close()


def test_marking_page_runs_only_its_own(marked, browser):
    """The page for markers shows hostile prose, saves a mark by one key, and survives a second interrupt."""
    folder, key = marked
    work = folder.parent / "paged"
    shutil.copytree(folder, work)
    program = subprocess.Popen([os.environ["COUNTERPOISE"], "mark", "--page", "--by", "AB", "--key", str(key), "--to", str(work)],
                               stdout=subprocess.PIPE, text=True)
    try:
        address = re.search(r"http://\S+", program.stdout.readline()).group(0)
        context = browser.new_context(viewport={"width": 1280, "height": 900})
        page = watched(context)
        page.goto(address)
        waiting = page.locator("article").count()
        assert waiting > 20
        page.locator("article").first.focus()
        page.keyboard.press("2")
        page.locator("article.decided").first.wait_for()
        assert page.title() == "Marking: A sheet to be attacked"
        assert [line for line in page.log if "SET OFF" in line or FAR in line or line.startswith(("error", "dialog", "popup"))] == []
        assert page.evaluate(TOO_WIDE) == []
        picture(page, "attacked-marking")
        page.set_viewport_size({"width": 390, "height": 844})
        assert page.evaluate(TOO_WIDE) == []
        picture(page, "attacked-marking-phone")
        context.close()
    finally:
        before = (work / "markbook.csv").read_bytes()
        program.send_signal(2)
        program.send_signal(2)
        out, _ = program.communicate(timeout=WAIT)
    assert program.returncode == 0, out
    assert (work / "markbook.csv").read_bytes() != before  # the mark is in it
