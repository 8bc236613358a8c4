"""The page in a real browser, served by the real command: an own study from nothing to a verdict."""

from __future__ import annotations

import re
import signal
from http.client import HTTPConnection

import page_browser
import pytest
from page_browser import at, slid, told, until

from missionsim.study.inputs.files import demo_folder

pytestmark = pytest.mark.browser
pytest.importorskip("selenium", reason="the extra `browser` is not installed")
TRIPS = "2025-03-04\t07:30\tKOMA\n2025-05-10\t08:00\tKMHK\n2025-02-30\t08:00\tKLNK\n2025-09-02\t09:00\tKDSM"


@pytest.fixture
def served(tmp_path):
    process, address = page_browser.served(tmp_path)
    yield process, address
    page_browser.stopped(process)


@pytest.fixture
def opened(served, browser):
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    browser.get("about:blank")
    browser.get_log("performance")
    browser.get_log("browser")
    browser.get(served[1])
    return browser


def type_into(browser, ident, text):
    field = browser.find_element("id", ident)
    field.clear()
    field.send_keys(text, "\t")
    return field


def paste(browser, text):
    browser.execute_script("""const data = new DataTransfer(); data.setData('text', arguments[0]);
        document.querySelector('[data-new=date]').dispatchEvent(
            new ClipboardEvent('paste', {clipboardData: data, bubbles: true, cancelable: true}));""", text)


def rows(browser):
    return [tr.get_attribute("data-row") for tr in browser.find_elements("css selector", "tr[data-row]")]


def begin(browser, address):
    type_into(browser, "home", "kgri")
    until(lambda: browser.find_element("id", "home").get_attribute("value") == "KGRI", "home as the study has it")
    paste(browser, TRIPS)
    until(lambda: browser.find_element("id", "set-aside").is_displayed(), "the row set aside")
    assert "2025-02-30" in browser.find_element("id", "set-aside").text
    browser.get(at(address, "year"))
    assert rows(browser) == ["t1", "t2", "t3"]


def test_from_nothing_to_a_verdict(opened, served, tmp_path):
    begin(opened, served[1])
    opened.get(at(served[1], "hangar"))
    for file in sorted((demo_folder() / "aircraft").glob("*.yaml"))[:2]:
        text = file.read_text(encoding="utf-8")
        opened.execute_script("document.getElementById('new-aircraft').value = arguments[0]", text)
        before = len(opened.find_elements("css selector", "article.card"))
        opened.find_element("id", "add-aircraft").click()
        until(lambda n=before: len(opened.find_elements("css selector", "article.card")) == n + 1, "one card more")
    opened.get(at(served[1], "verdict"))
    opened.find_element("id", "fly").click()
    until(lambda: opened.find_elements("css selector", ".answer .lead"), "the first answer")
    assert len(opened.find_elements("css selector", ".cost-row")) == 2
    assert "Planning estimates only" in opened.find_element("css selector", ".cautions").text
    before = told(opened, "slide-says")
    slid(opened, "slide-value", 200)
    until(lambda: opened.find_element("id", "slide-says").text not in {"", before}, "what the moved slider says")
    opened.execute_script("document.getElementById('trips-part').open = true")
    opened.execute_script("""const c = document.getElementById('trip-choice'); c.value = '1';
                          c.dispatchEvent(new Event('change', {bubbles: true}))""")
    until(lambda: opened.find_elements("css selector", "#trip-view .squares"), "the squares of a trip")
    years = r"Of \d+ years that wanted it"    # further years may arrive and draw the screen anew while one looks
    until(lambda: re.search(years, opened.find_element("id", "trip-view").text), "over how many years it is told")
    until(lambda: opened.find_element("id", "report").click() or True, "the button of the report")
    until((tmp_path / "my_flying" / "results" / "report.html").exists, "the report in the study's folder")
    urls = re.findall(r'"url":"(https?://[^"]+)"', "".join(e["message"] for e in opened.get_log("performance")
                                                           if "Network.requestWillBeSent" in e["message"]))
    assert {u.split("/")[2] for u in urls} == {served[1].split("/")[2]}
    assert [e for e in opened.get_log("browser") if e["level"] == "SEVERE"] == []
    assert [p.name for p in tmp_path.iterdir()] == ["my_flying"]


def test_a_cell_is_changed_with_keys_alone_and_a_bad_one_is_kept_open(opened, served):
    from selenium.webdriver.common.keys import Keys
    begin(opened, served[1])
    opened.find_element("css selector", "td[tabindex='0']").send_keys(Keys.ARROW_DOWN, Keys.ARROW_RIGHT,
                                                                     Keys.ARROW_RIGHT)
    cell = opened.switch_to.active_element
    assert (cell.get_attribute("data-column"), cell.text) == ("to", "KMHK")
    cell.send_keys(Keys.ENTER)
    field = opened.switch_to.active_element
    field.send_keys("KQQQQ", Keys.ENTER)
    until(lambda: field.get_attribute("aria-invalid") == "true", "the fault at its cell")
    field.clear()
    field.send_keys("KICT", Keys.ENTER)
    until(lambda: "KICT" in (opened.find_element("id", "row-t2").text), "the cell taken")
    opened.refresh()
    assert "KICT" in opened.find_element("id", "row-t2").text


def test_a_server_that_is_gone_is_said_and_nothing_accepted_is_lost(opened, served, tmp_path):
    begin(opened, served[1])
    served[0].kill()
    served[0].wait()
    type_into(opened, "pilot.age", "46")
    until(lambda: "missionsim has stopped" in opened.find_element("id", "note").text, "that it has stopped")
    process, address = page_browser.served(tmp_path)
    try:
        opened.get(address)
        assert rows(opened) == ["t1", "t2", "t3"]
    finally:
        process.send_signal(signal.SIGINT)
        out, said = process.communicate(timeout=30)
    assert process.returncode == 130
    assert "Traceback" not in said + out


def test_strangers_are_refused(served):
    host = served[1].split("/")[2]
    connection = HTTPConnection(host)
    connection.request("GET", "/year")
    assert connection.getresponse().status == 403
    connection.close()


@pytest.mark.parametrize("width", [390, 768, 1280])
@pytest.mark.parametrize("part", ["year", "hangar", "verdict"])
def test_nothing_is_wider_than_the_window_and_axe_finds_nothing(opened, served, width, part):
    begin(opened, served[1])
    opened.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                           {"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": False})
    opened.get(at(served[1], part))
    assert opened.execute_script("return document.documentElement.scrollWidth") <= width
    axe = pytest.importorskip("axe_core_python.selenium", reason="the extra `browser` is not installed")
    found = axe.Axe().run(opened)["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in found] == []
