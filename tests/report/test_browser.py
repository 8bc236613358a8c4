"""The page in a real browser: no error, no request, search, sorting, stories, widths, print, accessibility."""

from __future__ import annotations

import base64
import re
from importlib import import_module

import pytest
from page_browser import tables_that_lose_their_names

pytestmark = pytest.mark.browser
selenium = pytest.importorskip("selenium", reason="the extra `browser` is not installed")


@pytest.fixture(scope="module")
def address(html, tmp_path_factory):
    path = tmp_path_factory.mktemp("page") / "report.html"
    path.write_text(html, encoding="utf-8")
    return path.as_uri()


@pytest.fixture
def page(browser, address):
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    browser.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})
    browser.get("about:blank")
    browser.get_log("performance")
    browser.get(address)
    return browser


def width(page, pixels):
    page.execute_cdp_cmd("Emulation.setDeviceMetricsOverride",
                         {"width": pixels, "height": 900, "deviceScaleFactor": 1, "mobile": pixels < 600})


def open_parts(page):
    """Open the parts that are closed until somebody wants them."""
    page.find_element("id", "open-all").click()


def titles(page):
    return page.execute_script("return [...document.querySelectorAll('#trip-table tbody tr')].filter(r => !r.hidden)"
                               ".map(r => r.cells[0].querySelector('a').textContent)")


def test_no_error_and_no_request(page, address):
    assert page.get_log("browser") == []
    urls = re.findall(r'"url":"([^"]+)"', "".join(e["message"] for e in page.get_log("performance")
                                                  if "Network.requestWillBeSent" in e["message"]))
    assert {u for u in urls if not u.startswith(("data:", "about:"))} <= {address}


def refused(page):
    return [e["message"] for e in page.get_log("browser") if "Content Security Policy" in e["message"]]


def test_the_policy_refuses_what_is_not_the_pages_own(page):
    """That nothing is refused of the page itself holds all its styles to the policy: see the test before."""
    page.execute_script("document.body.setAttribute('style', 'color: rgb(255, 0, 0)')")
    page.execute_script("const s = document.createElement('style'); s.textContent = 'p {color: red}';"
                        "document.head.append(s)")
    page.execute_script("const s = document.createElement('script'); s.textContent = 'window.ran = 1';"
                        "document.head.append(s)")
    assert page.execute_script("return [getComputedStyle(document.body).color === 'rgb(255, 0, 0)', window.ran]") == \
        [False, None]
    assert len(refused(page)) == 3


def test_narrow_tables_say_their_headings_before_each_cell(page):
    width(page, 390)
    open_parts(page)
    told = page.execute_script(
        "return [...document.querySelectorAll('table.stack tbody tr:first-child td:nth-child(3)')]"
        ".filter(d => d.textContent.trim()).map(d => [d.closest('table').querySelector('thead th:nth-child(3)')"
        ".textContent, getComputedStyle(d, '::before').content])")
    assert len(told) >= 5
    for heading, written in told:
        assert written.replace('\\"', '"').strip('"').startswith(heading), (heading, written)


def test_figures_keep_their_colours(page):
    open_parts(page)
    found = page.execute_script(
        "return [...document.querySelectorAll('.plates svg [fill^=\\'#\\']')].map("
        "e => [e.getAttribute('fill'), getComputedStyle(e).fill])")
    assert len(found) > 20
    for said, drawn in found:
        assert drawn == "rgb({}, {}, {})".format(*(int(said[k:k + 2], 16) for k in (1, 3, 5)))


def test_names_with_markup_run_nothing(page):
    assert page.execute_script("return document.querySelectorAll('b[onclick], script:not([type])').length") == 1
    assert "<script>alert(2)</script> planter parts" in titles(page)


def test_a_link_opens_the_part_it_leads_to(page):
    assert not page.find_element("id", "search").is_displayed()
    page.find_element("css selector", "nav a[href='#trips']").click()
    assert page.find_element("id", "search").is_displayed()


def test_search_finds_words_anywhere(page):
    open_parts(page)
    box = page.find_element("id", "search")
    box.send_keys("kguc mountains")
    assert titles(page) == ["cabin in the mountains"]
    assert page.find_element("id", "found").text == "1 of 7 trips"
    assert not page.find_element("id", "trip-1").is_displayed()
    box.clear()
    box.send_keys("no such trip")
    assert titles(page) == []


def test_headings_sort_numbers_and_words_both_ways(page):
    def click(column):
        page.execute_script("document.querySelectorAll('#trip-table thead button')[arguments[0]].click()", column)
        return page.execute_script("return [...document.querySelectorAll('#trip-table tbody tr')]"
                                   ".map(r => (r.cells[arguments[0]].querySelector('a') || r.cells[arguments[0]])"
                                   ".textContent.replace(',', ''))", column)

    bags = [float(v) for v in click(4)]
    assert bags == sorted(bags)
    assert len(set(bags)) > 3
    bags = [float(v) for v in click(4)]
    assert bags == sorted(bags, reverse=True)
    names = click(0)
    assert names[-1] == "wedding"
    state = page.execute_script("return [...document.querySelectorAll('#trip-table thead th')]"
                                ".map(h => h.getAttribute('aria-sort'))")
    assert state == ["ascending", *["none"] * (len(state) - 1)]


def test_a_trip_leads_to_its_story(page):
    page.execute_script("document.querySelector('#trip-table a').click()")
    story = page.find_element("id", "trip-1")
    assert story.get_attribute("open") is not None
    assert "KGRI to KOMA" in story.text or "refused" in story.text or "did not leave" in story.text


def test_the_keyboard_reaches_everything(page):
    from selenium.webdriver.common.keys import Keys
    page.find_element("tag name", "body").send_keys(Keys.TAB)
    assert page.switch_to.active_element.get_attribute("class") == "skip"
    open_parts(page)
    button = page.find_element("css selector", "#trip-table thead button")
    button.send_keys(Keys.ENTER)
    state = page.execute_script("return document.querySelector('#trip-table th').getAttribute('aria-sort')")
    assert state == "ascending"
    summary = page.find_element("css selector", "#trip-2 summary")
    summary.send_keys(Keys.ENTER)
    assert page.find_element("id", "trip-2").get_attribute("open") is not None


@pytest.mark.parametrize("pixels", [360, 390, 768, 1280])
def test_nothing_scrolls_sideways(page, pixels):
    width(page, pixels)
    page.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    wide = page.execute_script("return document.documentElement.scrollWidth")
    assert wide <= pixels


@pytest.mark.parametrize(("pixels", "some"), [(390, False), (768, True)])
def test_a_table_wider_than_its_box_tells_whose_a_row_is(page, pixels, some):
    """A phone has its rows one below the other; between a phone and a desk they scroll."""
    width(page, pixels)
    page.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    wider, lost = tables_that_lose_their_names(page)
    assert (wider > 0) is some
    assert lost == []


def test_without_scripts_all_can_be_read(page, address):
    page.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": True})
    page.get(address)
    assert not page.find_element("id", "find").is_displayed()
    assert len(page.find_elements("css selector", "#trip-table tbody tr")) == 7
    page.execute_cdp_cmd("Emulation.setScriptExecutionDisabled", {"value": False})


def test_on_paper_no_table_is_cut(page):
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    width(page, 700)  # the width of a letter page between its margins
    cut = page.execute_script(
        "return [...document.querySelectorAll('table')].filter(t => t.offsetParent && t.getBoundingClientRect().right >"
        " document.documentElement.clientWidth + 1).map(t => t.caption ? t.caption.textContent : '?')")
    hidden = page.find_element("tag name", "nav").is_displayed()
    page.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert cut == []
    assert not hidden
    page.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    paper = page.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.5, "paperHeight": 11})
    assert base64.b64decode(paper["data"]).startswith(b"%PDF")


@pytest.mark.parametrize("pixels", [390, 1280])
def test_no_serious_accessibility_finding(page, pixels):
    axe = pytest.importorskip("axe_core_python.selenium", reason="the extra `browser` is not installed")
    width(page, pixels)
    page.execute_script("document.querySelectorAll('details').forEach(d => d.open = true)")
    found = axe.Axe().run(page)["violations"]
    serious = [(v["id"], v["nodes"][0]["html"][:200], len(v["nodes"])) for v in found
               if v["impact"] in {"serious", "critical"}]
    assert serious == []
    assert "duplicate-id" not in {v["id"] for v in found}


@pytest.fixture(scope="module", params=["partners", "rates"])
def shared_address(request, tmp_path_factory):
    """Pages of the two commands for shared use, from their packaged demos."""
    out = tmp_path_factory.mktemp(request.param) / "out"
    import_module("missionsim.cli.app").app([request.param, "--replications", "4", "--out", str(out)],
                                            standalone_mode=False)
    return (out / "report.html").as_uri()


@pytest.fixture
def shared_page(browser, shared_address):
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    browser.get("about:blank")
    browser.get_log("performance")
    browser.get_log("browser")
    browser.get(shared_address)
    return browser


def test_shared_pages_raise_no_error_and_ask_nobody(shared_page, shared_address):
    test_no_error_and_no_request(shared_page, shared_address)


@pytest.mark.parametrize(("pixels", "most"), [(390, 9000), (1280, 5000)])
def test_shared_pages_are_one_screen_and_closed_parts(shared_page, pixels, most):
    width(shared_page, pixels)
    assert shared_page.execute_script("return document.documentElement.scrollHeight") <= most
    assert shared_page.find_element("css selector", ".caution").is_displayed()
    assert shared_page.find_element("css selector", ".answer .lead").text
    assert shared_page.execute_script("return document.querySelectorAll('details.part[open]').length") == 0
    open_parts(shared_page)
    assert shared_page.execute_script("return document.querySelectorAll('details.part:not([open])').length") == 0


@pytest.mark.parametrize("pixels", [390, 1280])
def test_shared_pages_fit_and_have_no_serious_accessibility_finding(shared_page, pixels):
    test_nothing_scrolls_sideways(shared_page, pixels)
    test_no_serious_accessibility_finding(shared_page, pixels)


@pytest.fixture(scope="module")
def demo_address(tmp_path_factory):
    """The demo's report at its own number of years."""
    out = tmp_path_factory.mktemp("demo") / "out"
    import_module("missionsim.cli.app").app(["compare", "--out", str(out)], standalone_mode=False)
    return (out / "report.html").as_uri()


@pytest.mark.slow
def test_the_demo_report_keeps_to_its_limits(browser, demo_address):
    """Bytes, the first screen at two widths, the closed page, its printed pages."""
    from pathlib import Path
    from urllib.request import url2pathname
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    assert Path(url2pathname(demo_address.removeprefix("file://"))).stat().st_size <= 500_000
    for pixels, first, whole in ((1280, 1_100, 5_000), (390, 2_400, 9_000)):
        width(browser, pixels)
        browser.get(demo_address)
        assert browser.execute_script(
            "return document.querySelector('#answer').getBoundingClientRect().bottom + scrollY") <= first
        assert browser.execute_script("return document.documentElement.scrollHeight") <= whole
        for part in (".caution", ".cost-dots", ".trade-off", ".apart", ".why-not"):
            assert browser.find_element("css selector", f"#answer {part}").is_displayed()
    browser.execute_cdp_cmd("Emulation.clearDeviceMetricsOverride", {})
    browser.get(demo_address)
    paper = base64.b64decode(browser.execute_cdp_cmd("Page.printToPDF", {"paperWidth": 8.5, "paperHeight": 11,
                                                                         "preferCSSPageSize": True})["data"])
    assert len(re.findall(rb"/Type\s*/Page[^s]", paper)) <= 8
    # Page 1 holds the first screen: what follows it begins below the printed height of a letter page or on it.
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": "print"})
    width(browser, 725)      # a letter page between its margins, at 96 dots an inch
    bottom = browser.execute_script("const d = document.querySelector('.pictures').getBoundingClientRect();"
                                    "return d.bottom + scrollY")
    browser.execute_cdp_cmd("Emulation.setEmulatedMedia", {"media": ""})
    assert bottom <= 950


SHOWN_MARKS = ("return [...document.querySelectorAll('figure svg title')].map(t => t.parentElement)"
               ".filter(m => m.checkVisibility())")


@pytest.mark.parametrize("pixels", [390, 1280])
def test_what_a_mark_says_on_hover_it_says_on_focus_too(page, pixels):
    width(page, pixels)
    open_parts(page)
    marks = page.execute_script(SHOWN_MARKS)
    assert len(marks) > 10
    for mark in marks:
        page.execute_script("arguments[0].focus()", mark)
        words, shown, left, right = page.execute_script(
            "const t = document.getElementById('value-tip'), b = t.getBoundingClientRect();"
            "return [arguments[0].querySelector('title').textContent, t.hidden ? '' : t.textContent, b.left, b.right]",
            mark)
        assert shown == words != ""
        assert 0 <= left < right <= pixels
        assert mark.get_attribute("aria-label") == words


def test_a_map_is_one_stop_for_tab_and_arrows_go_from_mark_to_mark(page):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys
    open_parts(page)
    page.execute_script("document.getElementById('map-0').focus()")
    seen = []
    for key in (Keys.TAB, Keys.ARROW_RIGHT, Keys.ARROW_LEFT, Keys.ESCAPE, Keys.TAB):
        ActionChains(page).send_keys(key).perform()
        seen.append(page.execute_script("const t = document.getElementById('value-tip'); return t.hidden ? '' : "
                                        "t.textContent"))
    assert seen[0] == seen[2] != seen[1] != ""
    assert seen[3:] == ["", ""]
    assert not page.execute_script("return document.activeElement.closest('.place-map .layer')")
