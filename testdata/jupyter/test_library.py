"""Every worksheet of the library in a browser: as a notebook in JupyterLab, and as a page of its own, on a telephone without
network and on paper.

COUNTERPOISE_PICTURES names a folder for screenshots to look at.
"""
import os
import re
import shutil
import subprocess

import nbclient
import nbformat
import pytest
from conftest import CHROMIUM, FLAGS, ROOT, TOKEN, WAIT, jupyterlab
from playwright.sync_api import expect, sync_playwright

LIBRARY = ROOT / "worksheets" / "library"
SHEETS = sorted(file.parent.name for file in LIBRARY.glob("*/worksheet.md"))
PICTURES = 3  # that a worksheet shows at least
PHONE = {"width": 390, "height": 844}  # CSS pixels of a common telephone

# The same everywhere, since pytest leaves out a test without parameters.
assert SHEETS, "no worksheets in " + str(LIBRARY)


@pytest.fixture(scope="module")
def browser(place):
    with sync_playwright() as playwright:
        expect.set_options(timeout=WAIT * 1000)
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


def program(place, name, *flags):
    """Lets the program work on all worksheets; the folder with what it wrote."""
    folder = place / name
    subprocess.run([os.environ["COUNTERPOISE"], *flags, "--to", str(folder), *(str(LIBRARY / s) for s in SHEETS)],
                   check=True, timeout=15 * WAIT)
    return folder


def picture(page, name, **how):
    folder = os.environ.get("COUNTERPOISE_PICTURES")
    if folder:
        page.screenshot(path="%s/%s.png" % (folder, name), **how)


@pytest.fixture(scope="module")
def notebooks(place):
    """The folder with all worksheets as students get them."""
    return program(place, "notebooks", "build")


# In JupyterLab.

SLIP = 'panic("slipped")'

# How far the notebook in front has come, by its model and its kernel: what a page shows of a cell says less, since a hidden
# cell has no prompt and a scrolled one may not be there at all. Done: the kernel rests and every cell with code has run, or
# one has failed and the rest were given up.
STATE = """() => {
  const panel = window.jupyterapp.shell.currentWidget;
  const cells = [...panel.content.model.cells].filter(c => c.type === "code" && c.sharedModel.source.trim() !== "");
  const outputs = cells.flatMap(c => c.outputs.toJSON());
  const waiting = cells.filter(c => c.executionCount === null).length;
  const errors = outputs.filter(o => o.output_type === "error" || o.name === "stderr").map(o => o.evalue ?? [o.text].flat().join(""));
  const rests = panel.sessionContext.session?.kernel?.status === "idle" && cells.every(c => c.executionState === "idle");
  return {cells: cells.length, waiting, errors, done: rests && (waiting === 0 || outputs.some(o => o.output_type === "error")),
    drawings: outputs.filter(o => o.data && "image/svg+xml" in o.data).length};
}"""

# The pictures among the outputs that are there to be seen: decoded, and with an area.
SHOWN = """() => [...document.querySelectorAll(".jp-OutputArea-output :is(img, svg)")].filter(p =>
  !p.parentElement.closest("svg") && p.checkVisibility() && p.getBoundingClientRect().width > 50 &&
  p.getBoundingClientRect().height > 50 && (p.tagName !== "IMG" || p.complete && p.naturalWidth > 0)).length"""


@pytest.fixture(scope="module")
def lab(place, browser, notebooks):
    """A JupyterLab with all worksheets for students; its address, the folder and a context of the browser."""
    root = place / "library"
    root.mkdir()
    for sheet in SHEETS:
        shutil.copy(notebooks / (sheet + ".ipynb"), root)
    cells = [nbformat.v4.new_code_cell(source) for source in ("1", SLIP, "3")]
    slip = nbformat.v4.new_notebook(cells=cells, metadata={"kernelspec": {"name": "counterpoise", "display_name": "Counterpoise (Go)"}})
    nbformat.write(slip, root / "slip.ipynb")
    settings = {
        "notebook-extension/tracker": {"windowingMode": "none"},  # all cells stay in the page, where pictures can be counted
        "apputils-extension/notification": {"fetchNews": "false"},
    }
    with jupyterlab(root, **settings) as url:
        context = browser.new_context(viewport={"width": 1400, "height": 1000})
        context.set_default_timeout(WAIT * 1000)
        yield url, root, context
        context.close()


@pytest.fixture
def run_all(lab):
    """Opens a notebook and runs all its cells; afterwards its kernel is shut down."""
    url, root, context = lab
    page = context.new_page()

    def run(name):
        page.goto("%slab/tree/%s.ipynb?token=%s&reset" % (url, name, TOKEN))
        expect(idle(page)).to_be_visible()
        menu(page, "Run", "Run All Cells")
        page.wait_for_function("() => (%s)().done" % STATE)
        return page

    yield run
    menu(page, "Kernel", "Shut Down Kernel")
    expect(page.get_by_text("No Kernel").first).to_be_visible()
    page.close()
    assert context.request.get("%sapi/kernels?token=%s" % (url, TOKEN)).json() == []


def menu(page, *names):
    page.locator(".lm-MenuBar-itemLabel", has_text=names[0]).first.click()
    for name in names[1:]:
        page.locator(".lm-Menu-itemLabel", has_text=re.compile("^%s$" % name)).first.click()


def idle(page):
    """What the status bar says while the kernel is at rest."""
    return page.get_by_text("Counterpoise (Go) | Idle")


def test_error_is_seen(run_all):
    """What the next test looks for is found where it is: the second of three cells fails."""
    page = run_all("slip")
    state = page.evaluate(STATE)
    assert ["slipped" in text for text in state["errors"]] == [True]
    assert (state["cells"], state["drawings"]) == (3, 0)
    assert page.evaluate(SHOWN) == 0


@pytest.mark.parametrize("sheet", SHEETS)
def test_notebook_in_jupyterlab(run_all, lab, sheet):
    """Run All in JupyterLab: every cell runs, none in error, and the drawings are there to be seen."""
    page = run_all(sheet)
    picture(page, "lab-" + sheet)
    state = page.evaluate(STATE)
    assert (state["errors"], state["waiting"]) == ([], 0)
    written = nbformat.read(lab[1] / (sheet + ".ipynb"), as_version=4)
    assert state["cells"] == sum(c.cell_type == "code" and bool(c.source.strip()) for c in written.cells)
    assert state["drawings"] >= PICTURES
    assert page.evaluate(SHOWN) >= state["drawings"]


# As a page.

# What is wrong with the page, a line each. Nothing here may change the page.
FAULTS = r"""() => {
  const faults = [];
  const what = e => e.outerHTML.slice(0, 120);
  for (const e of document.querySelectorAll("*")) {
    if (e.localName === "script") faults.push("script: " + what(e));
    for (const a of e.attributes)
      if (/^on/i.test(a.name) || /^\s*javascript:/i.test(a.value)) faults.push("script in an attribute: " + what(e));
  }

  for (const e of document.querySelectorAll("math")) {
    if (e.getBoundingClientRect().width === 0) faults.push("a formula without width: " + what(e));
    if (e.querySelector("merror")) faults.push("a formula that was not read: " + what(e));
  }
  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let t; t = texts.nextNode();) {
    const shown = !t.parentElement.closest("code, pre, style, annotation");
    if (shown && /\$|\\[a-zA-Z(\[]/.test(t.data)) faults.push("a formula that is not typeset: " + t.data.trim().slice(0, 120));
  }

  for (const e of document.querySelectorAll("img, svg")) {
    if (e.parentElement.closest("svg")) continue;
    const alt = e.localName === "img" ? e.getAttribute("alt") : e.getAttribute("aria-label") ||
      e.querySelector(":scope > title")?.textContent;
    if (e.localName === "svg" && e.getAttribute("role") !== "img") faults.push("a drawing without the role of a picture: " + what(e));
    if (!alt || !alt.trim()) faults.push("a picture without an alternative text: " + what(e));
  }
  return faults;
}"""

# What does not fit into the width of the window, a line each; what scrolls by itself fits.
TOO_WIDE = r"""() => {
  const width = document.documentElement.clientWidth, found = [];
  if (document.documentElement.scrollWidth > width) found.push("the page: " + document.documentElement.scrollWidth + " px");
  const scrolls = e => ["auto", "scroll", "hidden"].includes(getComputedStyle(e).overflowX);
  for (const e of document.body.querySelectorAll("*")) {
    if (e.getBoundingClientRect().right <= width + 0.5) continue;
    let outer = e.parentElement;
    while (outer !== document.body && !scrolls(outer)) outer = outer.parentElement;
    if (outer === document.body) found.push(e.outerHTML.slice(0, 120));
  }
  return found;
}"""

# What is cut on paper, where nothing scrolls, a line each.
CUT = r"""() => {
  const width = document.documentElement.clientWidth, found = [];
  for (const e of document.body.querySelectorAll("*")) {
    const name = e.outerHTML.slice(0, 120);
    if (getComputedStyle(e).overflowX !== "visible" && e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1)
      found.push(e.scrollWidth + " px in " + e.clientWidth + ": " + name);
    if (e.getBoundingClientRect().right > width + 0.5) found.push("beyond the edge: " + name);
  }
  return found;
}"""

# What cannot be read in the drawings of a page, a line each: one label over another, over a line of the data, or out of the
# frame. A box of text is as high as its font; letters begin 0.17 of their size below its upper edge.
ILLEGIBLE = r"""() => {
  const found = [];
  for (const drawing of document.querySelectorAll("svg[role=img]")) {
    const name = drawing.querySelector("title").textContent, frame = drawing.getBoundingClientRect();
    const labels = [...drawing.querySelectorAll("text")].map(t => {
      const r = t.getBoundingClientRect(), upright = r.height > r.width && t.textContent.length > 2;
      const above = 0.17 * parseFloat(getComputedStyle(t).fontSize);
      return {text: t.textContent, left: r.left + (upright ? above : 0), right: r.right, top: r.top + (upright ? 0 : above), bottom: r.bottom};
    });
    const over = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5 &&
      Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5;
    labels.forEach((a, i) => {
      if (a.left < frame.left - 0.5 || a.right > frame.right + 0.5 || a.top < frame.top - 0.5 || a.bottom > frame.bottom + 0.5)
        found.push(name + ": " + a.text + " leaves the frame");
      for (const b of labels.slice(0, i)) if (over(a, b)) found.push(name + ": " + a.text + " over " + b.text);
    });
    for (const line of drawing.querySelectorAll("path, polyline")) {
      const style = getComputedStyle(line), place = line.getScreenCTM(), length = line.getTotalLength();
      if (style.fill !== "none" || parseFloat(style.strokeWidth) < 1.9) continue; // the grid, axes and leaders are thinner
      const under = new Set();
      for (let along = 0; along <= length; along += 1.5) {
        const p = line.getPointAtLength(along).matrixTransform(place);
        for (const a of labels) if (p.x > a.left && p.x < a.right && p.y > a.top && p.y < a.bottom) under.add(a.text);
      }
      for (const text of under) found.push(name + ": " + text + " over a line");
    }
  }
  return found;
}"""

FORMULA = re.compile(r"\$\$.+?\$\$|\$[^$]+\$", re.DOTALL)
CODE = re.compile(r"```.*?```|`[^`]*`", re.DOTALL)


@pytest.fixture(scope="module")
def pages(place):
    """The folder with all worksheets as pages, with the answers of their samples."""
    return program(place, "library-pages", "run", "--with-samples")


@pytest.fixture
def phone(browser):
    """A page of the browser on a telephone without network; what it asked for and complained of is in its log."""
    context = browser.new_context(viewport=PHONE, offline=True)
    page = context.new_page()
    page.log = []
    page.on("console", lambda message: page.log.append("%s: %s" % (message.type, message.text)))
    page.on("pageerror", lambda error: page.log.append("error: %s" % error))
    page.on("request", lambda request: page.log.append("request: " + request.url))
    yield page
    context.close()


def formulas(notebook):
    """How many formulas the prose of a notebook has."""
    return sum(len(FORMULA.findall(CODE.sub("", c.source))) for c in notebook.cells if c.cell_type == "markdown")


@pytest.mark.parametrize("sheet", SHEETS)
def test_page(pages, phone, sheet):
    address = (pages / (sheet + ".html")).as_uri()
    phone.goto(address)
    picture(phone, "page-" + sheet, full_page=True)
    assert phone.log == ["request: " + address]
    assert phone.evaluate(FAULTS) == []
    assert phone.evaluate(TOO_WIDE) == []
    assert phone.locator("img, svg[role=img]").count() >= PICTURES
    written = formulas(nbformat.read(pages / (sheet + ".ipynb"), as_version=4))
    assert 0 < written <= phone.locator("math").count()


PAPER = 673  # CSS pixels between the margins of A4, 210 mm less twice 16 mm, at 96 to the inch


@pytest.mark.parametrize("sheet", SHEETS)
def test_printed_page(pages, browser, sheet):
    """On paper, from a dark screen: nothing is cut, all is on white, and the drawings fit on a sheet."""
    context = browser.new_context(viewport={"width": PAPER, "height": 1000}, color_scheme="dark", offline=True)
    page = context.new_page()
    page.emulate_media(media="print", color_scheme="dark")
    page.goto((pages / (sheet + ".html")).as_uri())
    picture(page, "print-" + sheet, full_page=True)
    assert page.evaluate(CUT) == []
    assert page.evaluate("getComputedStyle(document.documentElement).backgroundColor") == "rgb(255, 255, 255)"
    papers = page.evaluate("[...document.querySelectorAll('svg[role=img]')].map(e => getComputedStyle(e.querySelector('path, rect')).fill)")
    assert set(papers) <= {"rgb(255, 255, 255)"}, papers
    heights = page.evaluate("[...document.querySelectorAll('svg[role=img], img')].map(e => e.getBoundingClientRect().height)")
    assert max(heights) <= 980  # 297 mm less twice 18 mm
    assert page.pdf(format="A4", prefer_css_page_size=True).startswith(b"%PDF")
    context.close()


@pytest.mark.parametrize("sheet", SHEETS)
def test_drawings_can_be_read(pages, browser, sheet):
    """No label of a drawing covers another, a line of the data or the frame, as the browser sets the text."""
    context = browser.new_context(viewport={"width": 1400, "height": 1000}, offline=True)
    page = context.new_page()
    page.goto((pages / (sheet + ".html")).as_uri())
    assert page.locator("svg[role=img] text").count() >= 3 * PICTURES
    assert page.evaluate(ILLEGIBLE) == []
    context.close()


ILL = """<!DOCTYPE html><title>x</title><body><svg role="img" width="200" height="100" viewBox="0 0 200 100"><title>x</title>
<text x="10" y="30">rest</text><text x="12" y="34">beat</text><text x="190" y="60">out</text>
<text x="60" y="80">under</text><path d="M50 75 L120 75" style="fill:none;stroke:#000;stroke-width:2"/>
<text x="10" y="95">clear</text><path d="M0 90 L50 90" style="fill:none;stroke:#000;stroke-width:1"/></svg>
<pre style="overflow-x: auto; white-space: pre">%s</pre><div style="width: 2000px">x</div>""" % ("x" * 400)


def test_illegible_is_seen(browser, tmp_path):
    """What the two tests above look for is found where it is."""
    (tmp_path / "ill.html").write_text(ILL)
    page = browser.new_page(viewport={"width": PAPER, "height": 1000})
    page.goto((tmp_path / "ill.html").as_uri())
    assert page.evaluate(ILLEGIBLE) == ["x: beat over rest", "x: out leaves the frame", "x: under over a line"]
    cut = page.evaluate(CUT)
    assert len(cut) == 2 and "<pre" in cut[0] and cut[1].startswith("beyond the edge"), cut
    page.close()


BAD = """<!DOCTYPE html><title>x</title><body><p>the mass $m$<p>the ratio \\frac{1}{2}<p onclick="x()">x
<script>console.error("slipped")</script><img src="data:,"><img src="data:," alt=" "><svg></svg><svg role="img"></svg>
<math></math><div style="width: 391px">x</div><div style="overflow-x: auto"><div style="width: 999px">x</div></div>"""


def test_faults_are_seen(phone, tmp_path):
    """What the test above looks for is found where it is."""
    (tmp_path / "bad.html").write_text(BAD)
    phone.goto((tmp_path / "bad.html").as_uri())
    assert "error: slipped" in phone.log
    kinds = [fault.split(":")[0] for fault in phone.evaluate(FAULTS)]
    assert sorted(kinds) == sorted(
        ["script in an attribute", "script", "a formula without width"] + 2 * ["a formula that is not typeset"] +
        4 * ["a picture without an alternative text"] + ["a drawing without the role of a picture"])
    wide = phone.evaluate(TOO_WIDE)
    assert wide[0].startswith("the page") and len(wide) == 2 and "391px" in wide[1], wide


@pytest.mark.parametrize("sheet", SHEETS)
def test_student_notebook_in_jupyter(notebooks, sheet):
    """A Jupyter client runs every cell of the student's notebook: none in error, pictures shown."""
    notebook = nbformat.read(notebooks / (sheet + ".ipynb"), as_version=4)
    nbclient.NotebookClient(notebook, timeout=WAIT, kernel_name="counterpoise").execute()
    nbformat.validate(notebook)
    outputs = [o for c in notebook.cells if c.cell_type == "code" for o in c.outputs]
    assert not [o for o in outputs if o.output_type == "error"]
    assert sum("image/svg+xml" in o.get("data", {}) for o in outputs) >= PICTURES
