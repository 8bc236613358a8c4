"""The whole job in a real browser: advertisements pasted, a logbook dropped, flown, kept, printed; what goes wrong."""

from __future__ import annotations

from http.client import HTTPConnection
from pathlib import Path

import pytest
from page_browser import (
    FOCUSED,
    at,
    printed_pages,
    served,
    severe,
    sized,
    slid,
    stopped,
    tab_to,
    tables_that_lose_their_names,
    told,
    until,
)

pytestmark = pytest.mark.browser
pytest.importorskip("selenium", reason="the extra `browser` is not installed")

ADVERTISEMENTS = (
    "Four-seat retractable, 1978, 200 hp. TT 4,650, 1180 SMOH, 310 SPOH. NDH, all logs. IFR, WAAS/LPV, 2-axis AP "
    "w/ alt hold, ADS-B out. UL 905. Ann due 9/26. Hgrd. P/I 8/8. $124,900 OBO.",
    "1974 four seat fixed gear, 180 hp, TT 5,900, 640 SMOH, 200 SPOH, NDH, logs complete. IFR, ILS, 1-axis AP, ADS-B. "
    "UL 960. Hangared. Asking $98,500.")
LOGBOOK = """Datum,Off,Origin,Where,In all
2025-03-04,07:30,KGRI,KOMA,2
2025-03-04,15:00,KOMA,KGRI,2
2025-05-10,08:00,KGRI,KMHK,1
2025-05-10,17:00,KMHK,KGRI,1
2025-09-02,09:00,KGRI,KDSM,2
2025-09-03,16:00,KDSM,KGRI,2
2025-10-08,09:00,KGRI,KLNK,1
"""
HOSTILE = "\"'><img src=x onerror=\"window.hurt=1\"><script>window.hurt=1</script>=1+1{{7*7}}"


@pytest.fixture
def page(tmp_path, browser):
    process, address = served(tmp_path)
    browser.get("about:blank")
    browser.get_log("browser")
    browser.get(address)
    sized(browser, 1280)
    yield process, address
    stopped(process)


def answers(browser):
    return browser.find_elements("css selector", "#screen .answer .lead")


def pressed(browser, ident):
    until(lambda: browser.find_element("id", ident).click() or True, f"the button {ident}")


def home(browser):
    field = browser.find_element("id", "home")
    field.send_keys("Grand Island, NE", "\t")
    until(lambda: browser.find_element("id", "home").get_attribute("value") == "KGRI", "home as the study has it")


def dropped(browser, address, folder):
    """Choose a logbook with headings of its own, match one column by its menu, take the trips."""
    from selenium.webdriver.support.select import Select
    file = folder / "log.csv"
    file.write_text(LOGBOOK)
    browser.get(at(address, "year"))
    browser.find_element("id", "file").send_keys(str(file))
    until(lambda: browser.find_element("id", "match").is_displayed(), "the columns to be matched")
    for ours, theirs in (("one-row-is", "legs"), ("date", "Datum"), ("time", "Off"), ("from", "Origin"),
                         ("to", "Where"), ("people", "In all")):
        chosen = until(lambda o=ours: Select(browser.find_element("id", f"match-{o}")), f"the menu of {ours}")
        if chosen.first_selected_option.get_attribute("value") != theirs:
            chosen.select_by_value(theirs)
            until(lambda o=ours, t=theirs: Select(browser.find_element("id", f"match-{o}")).first_selected_option
                  .get_attribute("value") == t, f"{ours} from {theirs}")
    until(lambda: "3 trips of 2025" in browser.find_element("id", "match-count").text, "three trips read")
    assert "1 row set aside" in told(browser, "match-count")
    browser.find_element("id", "match-take").click()
    until(lambda: len(browser.find_elements("css selector", "tr[data-row]")) == 3, "the trips taken")
    file.unlink()


def advertised(browser, address):
    for text in ADVERTISEMENTS:
        browser.get(at(address, "hangar"))
        before = len(browser.find_elements("css selector", "article.card"))
        browser.find_element("id", "new-aircraft").send_keys(text)
        browser.find_element("id", "read-words").click()
        until(lambda: browser.find_element("id", "proposal").is_displayed(), "the figures proposed")
        browser.find_element("id", "proposal-name").clear()
        browser.find_element("id", "proposal-name").send_keys(f"Offer {before + 1}")
        browser.find_element("id", "tick-all").click()
        browser.find_element("id", "accept").click()
        until(lambda n=before: len(browser.find_elements("css selector", "article.card")) == n + 1, "one card more")


def whole_study(browser, address, folder):
    home(browser)
    dropped(browser, address, folder)
    advertised(browser, address)
    browser.get(at(address, "verdict"))
    assert not browser.find_elements("css selector", ".needs, details.faults")


def flown(browser, address):
    browser.get(at(address, "verdict"))
    pressed(browser, "fly")
    until(lambda: answers(browser), "the first answer")
    until(lambda: browser.find_element("id", "phase").text == "", "the end of the flying")


def kept(browser, name):
    browser.find_element("id", "run-name").send_keys(name)
    browser.find_element("id", "keep").click()
    until(lambda: name in browser.find_element("id", "kept").text, f"{name} kept")


def test_from_an_empty_folder_to_a_printed_sheet(page, browser, tmp_path):
    address = page[1]
    whole_study(browser, address, tmp_path)
    flown(browser, address)
    assert len(browser.find_elements("css selector", ".cost-row")) == 2
    before = told(browser, "slide-says")
    slid(browser, "slide-value", 200)
    until(lambda: browser.find_element("id", "slide-says").text not in {"", before}, "what the moved slider says")
    browser.execute_script("document.getElementById('trips-part').open = true; const c = document.getElementById("
                           "'trip-choice'); c.value = '1'; c.dispatchEvent(new Event('change', {bubbles: true}))")
    until(lambda: browser.find_elements("css selector", "#trip-view .squares"), "the squares of a trip")
    kept(browser, "as offered")
    browser.get(at(address, "year"))
    fuel = browser.find_element("id", "prices.fuel_usd_per_gal")
    fuel.send_keys("9", "\t")
    until(lambda: "saved" in fuel.get_attribute("class"), "the price taken")
    flown(browser, address)
    until(lambda: "changed since" not in browser.find_element("id", "screen").text, "the new price flown")
    browser.find_element("css selector", "#kept form button").click()
    compared = until(lambda: browser.find_element("css selector", "main .answer").text, "what the price did")
    assert "1 thing was changed" in compared
    assert "same 20 simulated years" in compared
    browser.get(at(address, "sheet"))
    assert "Planning estimates only" in browser.find_element("css selector", ".cautions").text
    assert [printed_pages(browser, *paper) for paper in ((8.27, 11.69), (8.5, 11.0))] == [1, 1]
    browser.get(at(address, "verdict"))
    pressed(browser, "report")
    until(lambda: browser.find_elements("css selector", "a[href='/tables.xlsx']"), "the tables to take along")
    assert severe(browser) == []
    assert sorted(p.name for p in tmp_path.iterdir()) == ["my_flying"]


def test_the_job_with_keys_alone(page, browser, tmp_path):
    from selenium.webdriver.common.action_chains import ActionChains
    from selenium.webdriver.common.keys import Keys

    def keys(*what):
        ActionChains(browser).send_keys(*what).perform()

    address = page[1]
    tab_to(browser, "home").send_keys("KGRI", Keys.TAB)
    until(lambda: "saved" in browser.find_element("id", "home").get_attribute("class"), "home taken")
    browser.get(at(address, "year"))
    browser.execute_script("document.querySelectorAll('[data-new]').forEach((i) => { i.id = 'new-' + i.dataset.new; })")
    tab_to(browser, "new-date").send_keys("2025-03-04", Keys.TAB, Keys.TAB)
    keys("KOMA", Keys.ENTER)
    until(lambda: len(browser.find_elements("css selector", "tr[data-row]")) == 1, "the trip typed")
    browser.get(at(address, "hangar"))
    tab_to(browser, "new-aircraft").send_keys(ADVERTISEMENTS[1], Keys.TAB)
    keys(Keys.ENTER)
    until(lambda: browser.find_element("id", "proposal").is_displayed(), "the figures proposed")
    until(lambda: browser.execute_script(FOCUSED) == "proposal-name", "the focus on its name")
    tab_to(browser, "tick-all")
    keys(Keys.SPACE)
    tab_to(browser, "accept")
    keys(Keys.ENTER)
    until(lambda: browser.find_elements("css selector", "article.card"), "the aircraft taken")
    browser.get(at(address, "verdict"))
    tab_to(browser, "fly")
    keys(Keys.ENTER)
    until(lambda: answers(browser), "the first answer")
    until(lambda: browser.find_element("id", "phase").text == "", "the end of the flying")
    before = told(browser, "slide-says")
    tab_to(browser, "slide-value")
    keys(*[Keys.ARROW_RIGHT] * 10)
    until(lambda: browser.find_element("id", "slide-says").text != before, "what the moved slider says")
    tab_to(browser, "run-name").send_keys("with keys", Keys.ENTER)
    until(lambda: "with keys" in browser.find_element("id", "kept").text, "the run kept")
    assert severe(browser) == []


def test_a_refresh_and_a_second_tab_find_the_same_flight_and_do_not_overwrite_each_other(page, browser, tmp_path):
    address = page[1]
    whole_study(browser, address, tmp_path)
    browser.get(at(address, "verdict"))
    pressed(browser, "fly")
    browser.refresh()
    until(lambda: answers(browser), "the answer after a refresh")
    first = browser.current_window_handle
    browser.get(at(address, "year"))
    browser.switch_to.new_window("tab")
    browser.get(at(address, "verdict"))
    assert answers(browser)
    browser.get(at(address, "year"))
    age = browser.find_element("id", "pilot.age")
    age.send_keys("50", "\t")
    until(lambda: "saved" in age.get_attribute("class"), "the age taken in the second tab")
    browser.close()
    browser.switch_to.window(first)
    browser.find_element("id", "pilot.age").send_keys("61", "\t")
    until(lambda: "changed elsewhere" in browser.find_element("id", "note").text, "that it was changed elsewhere")
    assert "age: 50" in (tmp_path / "my_flying" / "study.yaml").read_text()


def test_a_server_killed_in_the_middle_leaves_no_worker_and_loses_nothing(page, browser, tmp_path):
    process, address = page
    whole_study(browser, address, tmp_path)
    flown(browser, address)
    kept(browser, "before the end")
    pressed(browser, "more")
    until(lambda: browser.find_element("id", "phase").text, "that it flies")
    workers = [int(p) for p in _children(process.pid)]
    assert workers
    process.kill()
    process.wait()
    until(lambda: "has stopped" in browser.find_element("id", "note").text, "that it has stopped")
    until(lambda: not any(_alive(p) for p in workers), "the end of its workers")
    again, address = served(tmp_path)
    try:
        browser.get(address)
        assert len(browser.find_elements("css selector", "tr[data-row]")) == 3
        browser.get(at(address, "hangar"))
        assert len(browser.find_elements("css selector", "article.card")) == 2
        browser.get(at(address, "verdict"))
        assert "before the end" in told(browser, "kept")
    finally:
        code, said = stopped(again)
    assert code == 130
    assert "Traceback" not in said


def _children(pid):
    return Path(f"/proc/{pid}/task/{pid}/children").read_text().split()


def _alive(pid):
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except FileNotFoundError:
        return False


def test_hostile_text_in_every_field_stays_text(page, browser, tmp_path):
    address = page[1]
    whole_study(browser, address, tmp_path)
    browser.get(at(address, "hangar"))
    browser.find_element("id", "new-aircraft").send_keys(HOSTILE)
    browser.find_element("id", "read-words").click()
    for part in ("shared/partners", "shared/rates"):
        browser.get(at(address, part))
        browser.find_element("css selector", "[data-begin]").click()
        until(lambda: browser.find_elements("css selector", "[data-add]"), f"{part} begun")
    for part in ("year", "hangar", "shared/partners", "shared/rates"):
        browser.get(at(address, part))
        browser.execute_script("""
            for (const f of document.querySelectorAll('input:not([type=file]):not([type=checkbox])')) {
              f.value = arguments[0]; f.dispatchEvent(new Event('change', {bubbles: true})); }
            for (const b of document.querySelectorAll('[data-add], #add-trip')) b.click();""", HOSTILE)
        until(lambda: browser.execute_script("return !document.querySelector('[data-sending]')"), "all answers")
    browser.get(at(address, "verdict"))
    assert not browser.find_elements("css selector", "details.faults"), browser.find_element("tag name", "main").text
    flown(browser, address)
    browser.find_element("id", "run-name").send_keys(HOSTILE[:50], "\n")
    until(lambda: "Kept as" in browser.find_element("id", "note").text, "a run of a hostile name kept")
    for part in ("", "year", "hangar", "verdict", "sheet", "shared/partners", "shared/rates"):
        browser.get(at(address, part))
        assert browser.execute_script("return window.hurt === undefined && !document.querySelector('img[src=x]')"), part
    assert [e for e in severe(browser) if "409" not in e["message"]] == []
    assert sorted(p.name for p in tmp_path.iterdir()) == ["my_flying"]
    assert all(p.suffix in {"", ".yaml", ".csv", ".json"} for p in (tmp_path / "my_flying").rglob("*"))


def test_strangers_other_names_and_other_pages_are_refused(page):
    address = page[1]
    host, key = address.split("/")[2], address.rpartition("=")[2]
    cookie = {"Cookie": f"missionsim-{host.rpartition(':')[2]}={key}"}

    def asked(method="GET", path="/year", **headers):
        connection = HTTPConnection(host)
        connection.request(method, path, body=b"{}" if method == "POST" else None, headers=headers)
        status = connection.getresponse().status
        connection.close()
        return status

    assert asked(**cookie) == 200
    assert asked() == 403
    assert asked(Cookie=cookie["Cookie"][:-1] + "x") == 403
    assert asked(**cookie, Host="evil.example") == 421
    assert asked(**cookie, Origin="http://evil.example") == 403
    assert asked("POST", "/fly", **cookie) == 403
    assert asked("POST", "/fly", **cookie, Origin="http://127.0.0.1:1") == 403
    assert asked("POST", "/fly", **cookie, Origin=f"http://{host}", **{"Sec-Fetch-Site": "cross-site"}) == 403
    assert asked("POST", "/fly", **cookie, Origin=f"http://{host}") == 422      # let in, and nothing to fly yet


@pytest.fixture(scope="module")
def full(tmp_path_factory, browser):
    """Return a study that is flown, kept and shared, for looking at."""
    folder = tmp_path_factory.mktemp("full")
    process, address = served(folder)
    browser.get(address)
    sized(browser, 1280)
    whole_study(browser, address, folder)
    flown(browser, address)
    kept(browser, "first")
    for part in ("shared/partners", "shared/rates"):
        browser.get(at(address, part))
        browser.find_element("css selector", "[data-begin]").click()
        until(lambda: browser.find_elements("css selector", "[data-add]"), f"{part} begun")
    browser.get(at(address, "shared/partners"))
    sizes = browser.find_element("id", "partnersmembers.sizes")
    sizes.send_keys("1 2", "\t")
    until(lambda: "saved" in sizes.get_attribute("class"), "the sizes taken")
    browser.find_element("id", "fly").click()
    until(lambda: answers(browser), "the partnership's verdict")
    yield address
    stopped(process)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
@pytest.mark.parametrize("part", ["year", "hangar", "verdict", "sheet", "two-runs?first=first&second=now",
                                  "shared/partners", "shared/rates"])
def test_axe_finds_nothing_and_nothing_is_too_wide(full, browser, part, width, scheme):
    sized(browser, width, scheme)
    browser.get(at(full, part))
    browser.execute_script("document.querySelectorAll('details').forEach((d) => { d.open = true; })")
    assert browser.execute_script("return document.documentElement.scrollWidth") <= width
    wider, lost = tables_that_lose_their_names(browser)
    assert wider or width > 390 or part in {"hangar", "shared/rates"}       # no loads to balance, not flown
    assert lost == []
    axe = pytest.importorskip("axe_core_python.selenium", reason="the extra `browser` is not installed")
    found = axe.Axe().run(browser)["violations"]
    assert [(v["id"], v["nodes"][0]["html"][:200]) for v in found] == []


def test_the_figures_read_from_an_advertisement_keep_their_names_in_sight(full, browser):
    sized(browser, 390)
    browser.get(at(full, "hangar"))
    browser.find_element("id", "new-aircraft").send_keys(ADVERTISEMENTS[0])
    browser.find_element("id", "read-words").click()
    until(lambda: browser.find_element("id", "proposal").is_displayed(), "the figures proposed")
    assert tables_that_lose_their_names(browser) == (1, [])
