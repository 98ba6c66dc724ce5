"""JupyterLab in a browser: a student opens a worksheet and works in it.

COUNTERPOISE_PICTURES names a folder for screenshots to look at.
"""
import os
import re
import shutil
import time

import nbformat
import pytest
from conftest import CHROMIUM, FLAGS, TOKEN, WAIT, jupyterlab
from playwright.sync_api import expect, sync_playwright

NUMBERED = re.compile(r"\[\d+\]:")  # the prompt of a cell that has run


@pytest.fixture(scope="module")
def lab(place, worksheet):
    """A running JupyterLab; its address and the folder that it shows."""
    root = place / "lab"
    root.mkdir()
    shutil.copy(worksheet, root)
    with jupyterlab(root) as url:
        yield url, root


@pytest.fixture(scope="module")
def page(lab):
    url, _ = lab
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        page = browser.new_page(viewport={"width": 1400, "height": 1000})
        page.set_default_timeout(WAIT * 1000)
        expect.set_options(timeout=WAIT * 1000)
        page.goto("%slab/tree/balance-point.ipynb?token=%s&reset" % (url, TOKEN))
        expect(idle(page)).to_be_visible()
        page.get_by_role("button", name="No", exact=True).click()  # no news, please
        yield page
        browser.close()


@pytest.fixture(autouse=True)
def last_look(page, request):
    """A picture of how each test left the page."""
    yield
    picture(page, "after-" + request.node.name)


def picture(page, name):
    folder = os.environ.get("COUNTERPOISE_PICTURES")
    if folder:
        page.screenshot(path="%s/%s.png" % (folder, name))


def idle(page):
    """What the status bar says once the kernel has been chosen, started and found at rest."""
    return page.get_by_text("Counterpoise (Go) | Idle")


def menu(page, *names):
    page.locator(".lm-MenuBar-itemLabel", has_text=names[0]).first.click()
    for name in names[1:]:
        page.locator(".lm-Menu-itemLabel", has_text=name).first.click()


def cell(page, text):
    return page.locator(".jp-CodeCell", has=page.locator(".cm-content", has_text=text)).first


def type_answer(page, name, answer):
    """Replaces an answer cell's text by its directive and an answer, and runs it; returns the cell's output."""
    box = cell(page, "worksheet:answer " + name)
    box.scroll_into_view_if_needed()
    before = prompt(box)
    box.locator(".cm-content").click()
    page.keyboard.press("Control+A")
    page.keyboard.type("//worksheet:answer %s\n%s" % (name, answer))
    page.keyboard.press("Escape")
    page.keyboard.press("Control+Enter")
    expect(box.locator(".jp-InputPrompt")).not_to_have_text(before)
    expect(box.locator(".jp-InputPrompt")).to_have_text(NUMBERED)
    return box.locator(".jp-OutputArea-output").last


def prompt(box):
    return box.locator(".jp-InputPrompt").inner_text()


def test_open_and_run_all(page):
    menu(page, "Run", "Run All Cells")
    expect(cell(page, "The whole bird").locator(".jp-InputPrompt")).to_have_text(NUMBERED)
    expect(idle(page)).to_be_visible()
    expect(page.locator(".jp-RenderedSVG, .jp-RenderedHTMLCommon svg, .jp-OutputArea-output img").first).to_be_visible()
    picture(page, "run-all")
    assert page.locator('[data-mime-type="application/vnd.jupyter.stderr"]').all_inner_texts() == []


def test_wrong_then_right(page):
    said = type_answer(page, "cg-depth", "h")
    wrong = said.inner_text()
    picture(page, "wrong")
    said = type_answer(page, "cg-depth", "(2 m h + M h/2)/(2 m + M)")
    right = said.inner_text()
    picture(page, "right")
    assert wrong.strip() and right.strip() and wrong != right
    assert "right" in right.lower() and "right" not in wrong.lower()[:20], (wrong, right)


def run_new(page, code):
    """Runs code in a new cell below the last one; returns that cell."""
    page.locator(".jp-Notebook .jp-Cell").last.scroll_into_view_if_needed()
    page.locator(".jp-Notebook .jp-Cell").last.locator(".jp-InputPrompt, .jp-InputArea").first.click()
    page.keyboard.press("Escape")
    page.keyboard.press("b")
    page.keyboard.press("Enter")
    page.keyboard.insert_text(code)
    page.keyboard.press("Escape")
    page.keyboard.press("Control+Enter")
    return page.locator(".jp-CodeCell").last


def test_interrupt(page):
    box = run_new(page, "for {\n}")
    expect(box.locator(".jp-InputPrompt")).to_have_text("[*]:")
    page.keyboard.press("i")
    page.keyboard.press("i")
    expect(box.locator(".jp-InputPrompt")).to_have_text(NUMBERED)
    expect(box.locator(".jp-OutputArea-output")).to_contain_text("nterrupt")
    picture(page, "interrupted")
    page.keyboard.press("d")  # away with the endless loop: all cells are run again below
    page.keyboard.press("d")
    box = run_new(page, "1000 * m")
    expect(box.locator(".jp-OutputArea-output")).to_contain_text("18")  # the state is kept


def test_complete(page):
    run_new(page, 'import "strings"')
    box = run_new(page, "// names")
    box.locator(".cm-content").click()
    page.keyboard.press("Control+A")
    page.keyboard.type("_ = strings.EqualF")
    page.keyboard.press("Tab")
    expect(page.locator(".jp-Completer-item")).to_have_text(re.compile("EqualFold"))
    picture(page, "complete")
    page.keyboard.press("Enter")
    expect(box.locator(".cm-content")).to_contain_text("strings.EqualFold")


def test_restart(page):
    menu(page, "Kernel", "Restart Kernel…")
    page.locator(".jp-Dialog .jp-mod-accept").click()
    expect(idle(page)).to_be_visible()
    box = run_new(page, "1000 * m")
    expect(box.locator(".jp-OutputArea-output")).to_contain_text("undefined")
    picture(page, "restarted")
    box.locator(".jp-InputPrompt").click()
    page.keyboard.press("d")
    page.keyboard.press("d")
    menu(page, "Run", "Run All Cells")
    expect(cell(page, "The whole bird").locator(".jp-InputPrompt")).to_have_text(NUMBERED)
    expect(idle(page)).to_be_visible()


def test_saved_notebook(page, lab):
    page.keyboard.press("Control+S")
    end = time.monotonic() + WAIT
    while True:
        notebook = nbformat.read(lab[1] / "balance-point.ipynb", as_version=4)
        if any(c.get("outputs") for c in notebook.cells):
            break
        assert time.monotonic() < end, "it was not saved"
        time.sleep(0.2)
    nbformat.validate(notebook)
    assert any("(2 m h + M h/2)" in c.source for c in notebook.cells)
