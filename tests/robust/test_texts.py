"""What people paste, drop and name: told in plain words what is wrong with it, soon, and never half kept."""

from __future__ import annotations

import io
import json
import os
import zipfile
from datetime import date, datetime
from itertools import takewhile

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from page_cases import NoJob, let_in
from robust_cases import RETRACTABLE, processor_limit, ran, write_study

from missionsim.base.errors import InputError
from missionsim.base.owned_files import written_in
from missionsim.page.figures import figure
from missionsim.page.files import CannotWriteError, ChangedOutsideError, Files
from missionsim.page.routes import Page
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs import calendar_rows
from missionsim.study.inputs.advertisement.hours import _slashed_tags
from missionsim.study.inputs.advertisement.read import read_words
from missionsim.study.inputs.advertisement.text import AdvertisementText
from missionsim.study.inputs.csv_cells import parse_moment, parse_number
from missionsim.study.inputs.other_files import read_table_text
from missionsim.study.inputs.places import places_in
from missionsim.study.inputs.units import plain_figures
from missionsim.study.inputs.yaml_lines import read_yaml
from missionsim.world.airports.table import AirportTable
from tests.robust import fuzz

LONG = "1" + " " * 1_000_000 + "x"
"""Each blank a place where a pattern may begin: those that try them all take hours."""


@pytest.mark.parametrize("seed", range(8))
def test_odd_texts_end_in_an_answer_or_in_plain_words(tmp_path, seed):
    assert fuzz.KINDS["texts"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(8, 120))
def test_more_odd_texts(tmp_path, seed):
    assert fuzz.KINDS["texts"](seed, tmp_path) == ""


@pytest.mark.parametrize("seed", [3])
def test_odd_requests_are_answered_or_refused_and_leave_files_whole(tmp_path, seed):
    assert fuzz.KINDS["page"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", [*range(3), *range(4, 24)])
def test_more_odd_requests(tmp_path, seed):
    assert fuzz.KINDS["page"](seed, tmp_path) == ""


def test_a_long_text_is_no_figure_no_date_and_no_airport(assumptions):
    table = AirportTable.packaged(assumptions)
    with processor_limit(60.0):
        for parse in (lambda: parse_number(LONG, None, semicolons=False),
                      lambda: parse_moment(LONG, "month/day/year")):
            with pytest.raises(ValueError, match=r"^a (number|date such)"):
                parse()
        assert not places_in(LONG, table.find, table.in_town).airports
        assert figure(LONG) == LONG
        assert plain_figures({"price_usd": LONG}) == {"price_usd": LONG}


@pytest.mark.parametrize("text", ["0" * 20_000, "000," * 5_000])
def test_a_long_number_is_read_once_and_not_from_each_of_its_digits(text):
    with processor_limit(60.0):
        for _ in range(40):
            words = AdvertisementText(text)
            _slashed_tags(words)
            assert not words.found


@pytest.mark.parametrize("text", ["4650/1180 TT/SMOH", "IFR,4650/1180 TT/SMOH", "seen.4,650 / 1180.0 TT/SMOH",
                                  "N12/4650/1180 TT/SMOH", "TT/SMOH: 4650/1180"])
def test_hours_in_one_stroke_are_read_wherever_they_stand(text):
    words = AdvertisementText(text)
    _slashed_tags(words)
    assert (words.get("state.airframe_hours_h"), words.get("engine.hours_since_overhaul_h")) == (4650, 1180)


def test_a_long_line_of_bad_yaml_is_told_in_a_short_one(tmp_path):
    (tmp_path / "s.yaml").write_text("study: " + "a: " * 300_000, encoding="utf-8")
    with processor_limit(60.0), pytest.raises(InputError) as caught:
        read_yaml(tmp_path / "s.yaml")
    assert "s.yaml:1: a colon inside" in str(caught.value)
    assert len(str(caught.value)) < 400


# Calendars and spreadsheets

CALENDAR = ("BEGIN:VCALENDAR\r\nBEGIN:VEVENT\r\nDTSTART:20250304T080000\r\n{}\r\nLOCATION:KOMA\r\nEND:VEVENT\r\n"
            "BEGIN:VEVENT\r\nDTSTART:20250401T080000\r\nLOCATION:KOMA\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n")


RULES = st.fixed_dictionaries({"FREQ": st.sampled_from(["YEARLY", "MONTHLY", "WEEKLY", "DAILY"])}, optional={
    "INTERVAL": st.integers(1, 5), "BYMONTH": st.integers(1, 12),
    "BYMONTHDAY": st.sampled_from([1, 13, 29, 31, -1, -3]),
    "BYDAY": st.sampled_from(["MO", "TU,TH", "SU"]), "BYWEEKNO": st.sampled_from([1, 9, 52, 53]),
    "COUNT": st.integers(0, 30), "UNTIL": st.dates(date(1999, 1, 1), date(2101, 12, 31)).map("{:%Y%m%d}".format)})


@given(RULES, st.datetimes(datetime(1999, 1, 1), datetime(2099, 12, 31), allow_imaginary=False))
@settings(max_examples=60)
def test_a_rule_falls_on_the_days_it_falls_on_when_followed_from_its_start(rule, first):
    from dateutil.rrule import rrulestr
    if rule["FREQ"] != "YEARLY" or "BYMONTHDAY" in rule:
        rule.pop("BYWEEKNO", None)      # no rule of months or weeks has weeks of the year
    if "UNTIL" in rule:
        rule.pop("COUNT", None)         # a rule has one of them
    first, text = first.replace(microsecond=0), ";".join(f"{k}={v}" for k, v in rule.items())
    whole = text.replace(rule.get("UNTIL", "none"), f"{rule.get('UNTIL')}T235959")   # a last day is meant whole
    followed = list(takewhile(lambda m: m.year <= first.year + 1, rrulestr(whole, dtstart=first)))
    assert list(calendar_rows._moments(text, first, None, first.year)) == followed


@pytest.mark.parametrize("often", ["YEARLY", "WEEKLY", "DAILY", "HOURLY"])
def test_a_rule_that_falls_on_no_day_there_is_repeats_never(often):
    rule = f"FREQ={often};BYMONTH=2;BYMONTHDAY=30"
    with processor_limit(60.0):
        assert not [m for _ in range(100) for m in calendar_rows._moments(rule, datetime(2025, 3, 4, 8), None, 2025)]


@pytest.mark.parametrize("line", ["RRULE:FREQ=YEARLY;INTERVAL=0;BYMONTH=2;BYMONTHDAY=30",      # goes on without end
                                  "RRULE:FREQ=DAILY;INTERVAL=-1", "RRULE:FREQ=SECONDLY;BYMONTHDAY=31;BYMONTH=2",
                                  "DURATION:P99999999999D"])    # beyond all days
def test_an_event_that_cannot_be_read_is_named_and_the_others_are_read(tmp_path, line):
    (tmp_path / "a.ics").write_text(CALENDAR.format(line), encoding="utf-8")
    file = read_table_text(tmp_path / "a.ics", "a.ics")
    assert "a.ics: events that cannot be read, in lines 2" in file.notes
    assert [row for row in file.text.splitlines() if row][1:] == ["2025-04-01,08:00,KOMA,,,"]


def test_a_calendar_of_more_repeats_than_a_table_has_rows_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("missionsim.study.inputs.calendar_rows.MOST_ROWS", 300)
    (tmp_path / "a.ics").write_text(CALENDAR.format("RRULE:FREQ=DAILY"), encoding="utf-8")
    with pytest.raises(InputError, match=r"a\.ics:2: has too many events and repeats; accepted: at most 300"):
        read_table_text(tmp_path / "a.ics", "a.ics")


def workbook(**parts: str) -> bytes:
    """Return a workbook of one trip, its sheet with some texts replaced."""
    from openpyxl import Workbook
    book, made = Workbook(), io.BytesIO()
    for row in (("date", "to"), ("2025-03-04", "KOMA")):
        book.active.append(row)
    book.save(made)
    changed = io.BytesIO()
    with zipfile.ZipFile(made) as old, zipfile.ZipFile(changed, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            text = old.read(name).decode("utf-8")
            for before, after in parts.items() if name.endswith("sheet1.xml") else ():
                assert before in text
                text = text.replace(before, after)
            new.writestr(name, text)
    return changed.getvalue()


def test_a_row_so_far_down_that_nobody_would_see_the_end_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr("missionsim.study.inputs.other_files.MOST_CELLS", 1_000)
    (tmp_path / "a.xlsx").write_bytes(workbook(**{'<row r="2"': '<row r="99999999999999"'}))
    with pytest.raises(InputError, match=r"a\.xlsx: has more than 1,000 cells"):
        read_table_text(tmp_path / "a.xlsx", "a.xlsx")


def test_rows_below_a_limit_are_not_dropped_in_silence(tmp_path, monkeypatch):
    monkeypatch.setattr("missionsim.study.inputs.other_files.MOST_CELLS", 5)
    (tmp_path / "a.xlsx").write_bytes(workbook())
    with pytest.raises(InputError, match="has more than 5 cells"):
        read_table_text(tmp_path / "a.xlsx", "a.xlsx")
    monkeypatch.setattr("missionsim.study.inputs.other_files.MOST_CELLS", 6)     # two rows of two, each counted too
    assert read_table_text(tmp_path / "a.xlsx", "a.xlsx").text == "date,to\n2025-03-04,KOMA\n"


@pytest.mark.parametrize("said", ["A1", "A1:A1", "A1:B1", "A1:XFD1048576"])
def test_a_sheet_ends_where_its_cells_do_whatever_it_says(tmp_path, said):
    (tmp_path / "a.xlsx").write_bytes(workbook(**{'ref="A1:B2"': f'ref="{said}"'}))
    assert read_table_text(tmp_path / "a.xlsx", "a.xlsx").text == "date,to\n2025-03-04,KOMA\n"


def test_columns_marked_down_to_the_last_row_are_no_trips(tmp_path):
    marked = "".join(f'<row r="{r}">' + "".join(f'<c r="{c}{r}" s="0"/>' for c in "ABCDEFGHIJ") + "</row>"
                     for r in range(3, 4_003))
    (tmp_path / "a.xlsx").write_bytes(workbook(**{"</sheetData>": f"{marked}</sheetData>"}))
    file = read_table_text(tmp_path / "a.xlsx", "a.xlsx")
    assert [row for row in file.text.splitlines() if row.strip(",")] == ["date,to", "2025-03-04,KOMA"]


def test_an_archive_that_unpacks_without_end_is_refused(tmp_path):
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_DEFLATED) as archive:
        for number in range(5):
            archive.writestr(f"xl/{number}.xml", bytes(50_000_000))
    (tmp_path / "a.xlsx").write_bytes(made.getvalue())
    assert "a.xlsx: unpacks to 250 MB; accepted: at most 200 MB." in ran("check", str(tmp_path / "a.xlsx")).refused()


def test_a_damaged_archive_is_a_fault_of_the_file(tmp_path):
    data = bytearray(workbook())
    at = data.index(b"xl/worksheets/sheet1.xml") + 30
    data[at:at + 40] = bytes(255 for _ in range(40))
    (tmp_path / "a.xlsx").write_bytes(bytes(data))
    assert "a.xlsx: is not a readable spreadsheet" in ran("check", str(tmp_path / "a.xlsx")).refused()


# Advertisements


def test_words_of_an_advertisement_command_no_terminal():
    found = read_words("1978 four place \x1b[31mretractable,\r\n\u202e260 HP. SMOH \x1b812, with \x07 bells. $164,900")
    assert found.get("engine.hours_since_overhaul_h") == 812
    assert not [c for f in found.found for c in f.words if not c.isprintable()]
    assert not [c for text in found.unread for c in text if not c.isprintable()]


@pytest.mark.parametrize(("data", "words"), [(b"\xff\xfe\x81", "is not valid UTF-16 text"), (b"a\0b", "zero bytes"),
                                             (b"x" * 20_000_001, "is longer than a file may be"),
                                             (b"1978 \x80 four place", "")])
def test_bytes_that_are_piped_in_are_text_or_refused(monkeypatch, data, words):
    monkeypatch.setattr("sys.stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))
    told = ran("check", "--advertisement", "-")
    assert words in told.refused() if words else told.code == 0


# The page


@pytest.fixture
def study(tmp_path):
    return StudyFolder.opened(write_study(tmp_path, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE]))


@pytest.mark.parametrize("body", [b"[" * 100_000, b'{"text":' + b"9" * 5_000 + b"}",
                                  b'{"path":"study","text":"\\ud800"}', b'{"path":"study","text":"a","was":3}',
                                  '{"path":"candidates.\u00b2","text":"a"}'.encode(),
                                  b'{"path":"demand","cells":{"to":"KOMA","to.x":"KOMA"}}'])
@pytest.mark.parametrize("what", ["value", "entry"])
def test_requests_of_no_form_are_refused_as_a_whole(study, body, what):
    assert let_in(Page(study, NoJob())).post(f"/change/{what}", content=body).status_code == 400


@pytest.mark.parametrize(("path", "text"), [("candidates.9.name", "x"), ("home.name", "x"),
                                            ("rent_aircraft", "x" * 5_000)])
def test_places_that_are_not_there_are_refused(study, path, text):
    before = study.file.path.read_bytes()
    assert let_in(Page(study, NoJob())).post("/change/value", json={"path": path, "text": text}).status_code == 422
    assert study.file.path.read_bytes() == before


@pytest.mark.parametrize("text", ["name: b\nx: 2025-02-30\n", 'name: b\nx: "\\x1b"\n', "name: " + "[" * 3_000,
                                  "name: b\nname: c\n"])
def test_an_aircraft_that_nothing_could_read_again_is_not_kept(study, text):
    client = let_in(Page(study, NoJob()))
    assert client.post("/change/aircraft", json={"text": text}).status_code == 422
    assert client.get("/hangar").status_code == 200
    assert not (study.folder / "aircraft").exists()


@pytest.mark.parametrize("name", ["\0.csv", "..", "\u00e9" * 190 + ".csv", "a/../../b.csv"])
def test_a_dropped_file_may_have_any_name(study, name):
    answer = let_in(Page(study, NoJob())).post("/drop", params={"name": name}, content=b"date,to\n2025-03-04,KOMA\n")
    assert answer.status_code == 200
    assert answer.json()["count"] == 1


def test_a_study_whose_trips_are_a_spreadsheet_opens(tmp_path):
    (tmp_path / "t.xlsx").write_bytes(workbook())
    opened = StudyFolder.opened(write_study(tmp_path, None, trips="t.xlsx"))
    assert [row.cells["to"] for row in opened.rows] == ["KOMA"]


def test_a_study_in_letters_of_another_time_is_refused_in_words(tmp_path):
    path = write_study(tmp_path, "date,to\n2025-03-04,KOMA\n")
    path.write_bytes(path.read_bytes() + "# B\u00fcro\n".encode("cp1252"))
    with pytest.raises(InputError, match="is no UTF-8 text"):
        StudyFolder.opened(path)


@pytest.mark.skipif(os.name == "nt", reason="rights of another kind")
def test_a_file_keeps_its_rights_and_a_new_one_can_be_read_by_all(tmp_path):
    path, files = tmp_path / "study.yaml", Files()
    files.read(path)
    files.write(path, "study: new\n")
    assert path.stat().st_mode & 0o777 == 0o644
    path.chmod(0o640)
    files.write(path, "study: newer\n")
    assert path.stat().st_mode & 0o777 == 0o640


@pytest.mark.skipif(os.name == "nt", reason="limits of another kind")
def test_a_disk_that_fills_while_a_file_is_written_leaves_the_old_one(tmp_path):
    import resource
    path, files = tmp_path / "study.yaml", Files()
    path.write_text("study: old\n", encoding="utf-8")
    files.read(path)
    limits = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (100, limits[1]))     # the first hundred bytes still fit
    try:
        with pytest.raises(CannotWriteError):
            files.write(path, "study: new\n" + "# more\n" * 100)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, limits)
    assert path.read_text(encoding="utf-8") == "study: old\n"
    assert [p.name for p in tmp_path.iterdir()] == ["study.yaml"]


def test_a_link_stays_and_the_file_it_leads_to_is_written(tmp_path):
    (tmp_path / "kept").mkdir()
    place, link, files = tmp_path / "kept" / "mine.yaml", tmp_path / "study.yaml", Files()
    place.write_text("study: old\n", encoding="utf-8")
    place.chmod(0o600)
    link.symlink_to(place)
    files.read(link)
    files.write(link, "study: new\n")
    assert link.is_symlink()
    assert place.read_text(encoding="utf-8") == "study: new\n"
    assert place.stat().st_mode & 0o777 == 0o600
    assert [p.name for p in sorted(tmp_path.rglob("*"))] == ["kept", "mine.yaml", "study.yaml"]
    place.write_text("study: by another\n", encoding="utf-8")
    with pytest.raises(ChangedOutsideError):
        files.write(link, "study: newer\n")
    files.read(link)
    files.remove(link)
    assert place.is_file()


def test_a_link_that_leads_nowhere_is_not_written(tmp_path):
    link, files = tmp_path / "study.yaml", Files()
    link.symlink_to(tmp_path / "gone.yaml")
    assert files.read(link) is None
    with pytest.raises(CannotWriteError, match=r"^study\.yaml is a link that leads to no file: nothing was written$"):
        files.write(link, "study: new\n")
    assert [p.name for p in tmp_path.iterdir()] == ["study.yaml"]


def test_a_run_file_with_numbers_that_are_none_is_not_ours(tmp_path):
    entry = {"program": "missionsim", "command": "compare", "study": "s", "written": [], "x": float("nan"), "seal": ""}
    (tmp_path / "run.json").write_text(json.dumps(entry), encoding="utf-8")
    assert written_in(tmp_path) == {}
