"""A page served by the real command, and a browser's hands: what tests of the page in Chromium have in common."""

from __future__ import annotations

import base64
import re
import signal
import subprocess
import sys
import time

import pytest

LISTENING = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
"""A run in the background may inherit ignored interrupts; a person at a terminal never does."""
COMMAND = [sys.executable, "-c", LISTENING + "from missionsim.cli import main; main()", "page", "--no-browser"]
LONG_S = 240
FOCUSED = "return document.activeElement && document.activeElement.id"


def served(folder):
    """Start the page in a folder; return the process and its address."""
    process = subprocess.Popen(COMMAND, cwd=folder, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True)
    return process, process.stdout.readline().strip()


def stopped(process):
    """Interrupt the page; return exit code and all it said."""
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
    out, said = process.communicate(timeout=30)
    return process.returncode, out + said


def until(look, what):
    """Wait for something on the page, not for a time."""
    end = time.monotonic() + LONG_S
    while time.monotonic() < end:
        try:
            found = look()
        except Exception:
            found = None
        if found:
            return found
        time.sleep(0.1)
    pytest.fail(f"never seen: {what}")


def told(browser, ident):
    """Return what an element says, looked up anew where the page is drawn anew in between."""
    return until(lambda: [browser.find_element("id", ident).text], f"the element {ident}")[0]


def slid(browser, ident, value):
    """Move a slider as a hand does; found and moved at once, so that nothing is drawn anew in between."""
    browser.execute_script("const slider = document.getElementById(arguments[0]); slider.value = arguments[1]; "
                           "slider.dispatchEvent(new Event('input', {bubbles: true}))", ident, value)


def at(address, part):
    return re.sub(r"/\?key=.*", f"/{part}", address)


def sized(browser, width, scheme="light"):
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia",
                            {"features": [{"name": "prefers-color-scheme", "value": scheme}]})
    browser.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                            {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False})


def printed_pages(browser, width_in, height_in):
    """Return how many pages the shown page prints on."""
    told = browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": width_in, "paperHeight": height_in})
    return len(re.findall(rb"/Type\s*/Page[^s]", base64.b64decode(told["data"])))


WIDER = """
    const shown = [...document.querySelectorAll('.wide')].filter(b => b.checkVisibility());
    return shown.filter(b => b.scrollWidth > b.clientWidth).map(b => {
        b.scrollLeft = b.scrollWidth;
        const box = b.getBoundingClientRect(), rows = [...b.querySelectorAll('tr')].filter(r => r.checkVisibility());
        const naming = rows.map(r => [...r.cells].find(c => getComputedStyle(c).position === 'sticky') || r.cells[0]);
        const cells = naming.map(c => {
            const at = c.getBoundingClientRect();
            return {left: at.left - box.left, share: at.width / box.width,
                    ground: getComputedStyle(c).backgroundColor}; });
        b.scrollLeft = 0;
        return {name: b.getAttribute('aria-label') || '', cells: cells,
                shaded: getComputedStyle(b).backgroundImage.includes('gradient')}; })"""
"""Of each table wider than its box, scrolled to its end: where the cell that names a row is, and what lies behind."""


def tables_that_lose_their_names(browser):
    """Return how many tables are wider than their boxes, and those that once scrolled do not tell whose a row is."""
    found = browser.execute_script(WIDER)
    lost = [t["name"] for t in found if not t["shaded"] or not t["cells"] or any(
        abs(c["left"]) > 1.0 or c["share"] > 0.5 or c["ground"] == "rgba(0, 0, 0, 0)" for c in t["cells"])]
    return len(found), lost


def tab_to(browser, ident, most=600):
    """Press Tab until an element has the focus: whoever has no mouse comes there too."""
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys
    for _ in range(most):
        if browser.execute_script(FOCUSED) == ident:
            return browser.switch_to.active_element
        ActionChains(browser).send_keys(Keys.TAB).perform()
    pytest.fail(f"Tab never comes to {ident}")


def severe(browser):
    """Return what the browser complained of, refusals of bad values left out: those are answers."""
    return [e for e in browser.get_log("browser") if e["level"] == "SEVERE" and "422" not in e["message"]]
