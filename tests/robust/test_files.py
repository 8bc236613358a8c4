"""Files as people save them, and files that are wrong from end to end."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, datetime, time

import pytest
import yaml
from hypothesis import HealthCheck, given
from hypothesis import settings as limits
from hypothesis import strategies as st
from robust_cases import RETRACTABLE, write_study

from missionsim.base.errors import InputError
from missionsim.study.inputs.load_study import load_study

FIXTURE = [HealthCheck.function_scoped_fixture]
DAYS = [date(2024, 2, 29), date(2024, 1, 31), date(2024, 12, 31), date(2024, 7, 17)]
SPREADSHEET_DAY_0 = date(1899, 12, 30)
"""Day 0 of spreadsheets, so that 1 January 1900 is day 1 with their 29 February 1900 counted (common practice)."""
DATES = {"year-month-day": "{:%Y-%m-%d}", "month/day/year": "{:%m/%d/%Y}", "day/month/year": "{:%d.%m.%Y}"}
DELIMITERS = {"comma": ",", "semicolon": ";", "tab": "\t", "bar": "|"}
CLOCKS = ("07:30", "7:30 AM", "7:30 a.m.", "07:30:00", "0730")
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "cp1252")


def cell(text, delimiter, quoted):
    return f'"{text}"' if quoted or delimiter in text else text


@limits(suppress_health_check=FIXTURE)
@given(order=st.sampled_from([*DATES, "serial"]), delimiter=st.sampled_from(list(DELIMITERS)),
       clock=st.sampled_from(CLOCKS), encoding=st.sampled_from(ENCODINGS),
       newline=st.sampled_from(["\n", "\r\n", "\r"]),
       quoted=st.booleans(), comma=st.booleans(), upper=st.booleans(), blank=st.booleans())
def test_the_same_trips_in_any_usual_dress_are_the_same_trips(
        tmp_path, order, delimiter, clock, encoding, newline, quoted, comma, upper, blank):
    mark = DELIMITERS[delimiter]
    rows = [["date", "time", "to", "adults", "bags_lb", "purpose"]]
    for day in DAYS:
        shown = str((day - SPREADSHEET_DAY_0).days) if order == "serial" else DATES[order].format(day)
        rows.append([shown, clock, "KOMA", "2", "35,5" if comma else "35.5", "Besuch bei Müller"])
    if upper:
        rows[0] = [h.upper() for h in rows[0]]
    lines = [mark.join(cell(c, mark, quoted) for c in row) for row in rows]
    text = newline.join(["# exported", *lines, *(["", mark * 5] if blank else []), ""])
    form = {"file": "trips.csv"} | ({} if order == "serial" else {"date_format": order})
    trips = form | ({"decimal_comma": True} if comma else {})
    path = write_study(tmp_path, None, candidates=[RETRACTABLE], trips=trips)
    (tmp_path / "trips.csv").write_bytes(text.encode(encoding))
    trips = list(load_study(path).listed)
    assert [t.departs_local[0] for t in trips] == [datetime.combine(d, time(7, 30)) for d in sorted(DAYS)]
    assert {(t.stops, t.adults, t.bags_lb, t.purpose) for t in trips} == {
        (("KGRI", "KOMA", "KGRI"), 2, 35.5, "Besuch bei Müller")}


def faults(path):
    with pytest.raises(InputError) as caught:
        load_study(path)
    text = [str(f) for f in caught.value.faults]
    assert all("\n" not in line for line in text)
    return "\n".join(text)


@pytest.mark.parametrize(("trips", "words"), [
    ("date,to\n", "no trips"), ("", "no header"), ("date,to\n2023-02-29,KOMA\n", "29 February"),
    ("date,to\n2025-03-04,KGRI\n", "nowhere but home"),
    ("trip_id,date,to\na,2025-03-04,KOMA\na,2025-03-05,KOMA\n", "used twice"),
    ("date,time,to,return,return_time\n2025-03-09,02:30,KOMA,2025-03-09,02:10\n", "before it leaves"),
    ("date,to,return\n2025-03-09,KOMA,2025-03-01\n", "accepted"),
    ("date,to,return\n2025-03-09,KOMA,2026-03-01\n", "nights"),
    ("date,to,adults\n2025-03-09,KOMA,1e308\n", "accepted"), ("date,to,adults\n2025-03-09,KOMA,-1\n", "accepted"),
    ("date,to,adults\n2025-03-09,KOMA,nan\n", "accepted"), ("date,to,bags_lb\n2025-03-09,KOMA,inf\n", "accepted"),
    ("date,to,bags_lb\n2025-03-09,KOMA,60 stone\n", "accepted"), ("date,to\n45720.5.5,KOMA\n", "accepted"),
    ("date,to\n2025-03-09," + "K" * 400 + "\n", "no airport"), ("date,to\n#REF!,KOMA\n", "#REF!"),
    ("date,to\n2025-03-09,KOMA,1,2,3\n", "cells under"), ('date,to\n"2025-03-09,KOMA\n' + "x\n" * 80, "quotation mark"),
    ("date,to\n2025-03-09\0,KOMA\n", "zero bytes"), ("date,to\n2025-03-09,NZAA\n", "no airport 'NZAA'"),
])
def test_tables_that_cannot_be_trips(tmp_path, trips, words):
    assert words in faults(write_study(tmp_path, trips))


@pytest.mark.parametrize(("content", "words"), [
    (b"", "is empty"), (b"\xff\xfe", "is empty"), (b"PK\x03\x04abc", "spreadsheet"), (b"%PDF-1.7", "PDF"),
    (b"study: a\0b\n", "zero bytes"), (b"\x81\x8d\x8f", "neither UTF-8"), (b"- a\n- b\n", "is a list"),
    (b"study: [" * 30_000, "nested too deeply"), (b"a: &a [*a]\n", "inside what it names"),
    (b"study: !!python/object/apply:os.system [ls]\n", "constructor"), (b"study: 2025-02-30\n", "cannot be read"),
    (b"study: x\nstudy: y\n", "given twice"), (b"? [a, b]\n: 1\n", "unhashable key"), (b"study: 1e999\n", "study"),
    (b"extends: study.yaml\n", "in a circle"), (b"extends: .\n", "is a folder"), (b"extends: /dev/zero\n", "neither"),
    (b"extends: [a]\n", "another study file"), (b"a: &x [1,1,1,1,1,1,1,1,1]\n" + b"".join(
        b"%s: &%s [%s]\n" % (new, new, b",".join([b"*" + old] * 9))
        for old, new in zip([b"x", b"b", b"c", b"d", b"e", b"f"], [b"b", b"c", b"d", b"e", b"f", b"g"], strict=True)),
     "too large once its aliases"),
])
def test_files_that_cannot_be_a_study(tmp_path, content, words):
    (tmp_path / "study.yaml").write_bytes(content)
    assert words in faults(tmp_path / "study.yaml")


@pytest.mark.parametrize(("name", "size"), [("study.yaml", 2_000_001), ("trips.csv", 20_000_001)])
def test_huge_files_are_refused_before_they_are_read(tmp_path, name, size):
    path = write_study(tmp_path, "date,to\n2025-03-04,KOMA\n")
    with (tmp_path / name).open("ab") as file:
        file.truncate(size)  # a file of holes: long, and nothing on disk
    assert "MB" in faults(path)


def test_circles_through_a_link_and_long_chains_end(tmp_path):
    (tmp_path / "link.yaml").symlink_to("study.yaml")
    (tmp_path / "study.yaml").write_text("extends: link.yaml\n")
    assert "in a circle" in faults(tmp_path / "study.yaml")
    for i in range(25):
        (tmp_path / f"{i}.yaml").write_text(f"extends: {i + 1}.yaml\n")
    assert "too many studies extend each other" in faults(tmp_path / "0.yaml")


def test_a_year_of_no_demand_at_all_is_a_fault(tmp_path):
    assert "makes no trips" in faults(write_study(tmp_path, None, demand=[{"to": "KOMA", "per_year": 0}]))


def test_many_trips_are_read(tmp_path):
    rows = "".join(f"2025-{i % 12 + 1:02}-{i % 28 + 1:02},{('KOMA', 'KLNK')[i % 2]}\n" for i in range(5_000))
    assert len(load_study(write_study(tmp_path, "date,to\n" + rows)).listed) == 5_000


KINDS = [None, True, "", "x", -1, 0, 1e308, float("nan"), float("inf"), [], {}, [1], {"a": 1}, 10**30, "2025-01-01",
         {1: 2}, [[]], [None], "../..", 1e-9, "12,5", "1 000", "KGRI", "unknown", {"low": 3, "likely": 2, "high": 1},
         "\u202e", "a\nb", date(2025, 1, 1)]


def parts(data, path=()):
    """Yield the path of every part of nested data."""
    for key, value in data.items() if isinstance(data, dict) else enumerate(data):
        yield (*path, key)
        if isinstance(value, dict | list):
            yield from parts(value, (*path, key))


def spoilt(data, where, value):
    """Return data with the part at a place (chosen by a share of all places) replaced."""
    places = list(parts(data))
    *outer, last = places[int(where * len(places))]
    inner = data
    for key in outer:
        inner = inner[key]
    inner[last] = deepcopy(value)
    return data


@pytest.mark.parametrize("name", ["partnership", "charter", "ownership", "buyer"])
@limits(suppress_health_check=FIXTURE, max_examples=max(20, limits().max_examples // 3))
@given(st.lists(st.tuples(st.floats(0, 0.999), st.sampled_from(KINDS)), min_size=1, max_size=3))
def test_any_part_of_a_study_may_be_anything(tmp_path, demo, name, changes):
    path = demo / "studies" / f"{name}.yaml"
    data = yaml.safe_load(path.read_text(encoding="utf-8"))
    for where, value in changes:
        data = spoilt(data, where, value)
    load_or_faults(demo / "studies" / "spoilt.yaml", data)


@pytest.mark.parametrize("name", ["retractable_260", "boosted_six"])
@limits(suppress_health_check=FIXTURE, max_examples=max(20, limits().max_examples // 3))
@given(st.lists(st.tuples(st.floats(0, 0.999), st.sampled_from(KINDS)), min_size=1, max_size=3))
def test_any_part_of_an_aircraft_may_be_anything(tmp_path, demo, name, changes):
    data = yaml.safe_load((demo / "aircraft" / f"{name}.yaml").read_text(encoding="utf-8"))
    for where, value in changes:
        data = spoilt(data, where, value)
    (demo / "aircraft" / "spoilt.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    load_or_faults(demo / "studies" / "spoilt.yaml", {
        "study": "s", "home": "KGRI", "trips": "../trips/farm_dealer.csv", "candidates": ["../aircraft/spoilt.yaml"]})


def load_or_faults(path, data):
    path.write_text(yaml.safe_dump(data), encoding="utf-8")
    try:
        study = load_study(path)
    except InputError as error:
        assert error.faults  # noqa: PT017
        assert "\n" not in "".join(str(f) for f in error.faults)  # noqa: PT017
    else:
        assert study.candidates
