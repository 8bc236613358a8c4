from __future__ import annotations

import random
import shutil

import pytest
import yaml
from aircraft_cases import WHOLE_180
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

STUDY = """\
study: broken
home: KGRI
year: 2025
replicatons: 20
pilot:
  rating: instrument
  total_h: -5
trips: trips.csv
candidates:
  - aircraft/good.yaml
  - aircraft: aircraft/bad.yaml
  - aircraft: aircraft/goood.yaml
prices:
  fuel_usd_per_gal: 600
"""
TRIPS = """\
date,to,adults,bags_lb
2025-03-04,KOMA,1,40
2025-02-29,KOMA,1,40
2025-03-06,KBOl,1,40
2025-03-07,KLNK,none,heavy
"""


@pytest.fixture
def folder(tmp_path):
    (tmp_path / "aircraft").mkdir()
    good = WHOLE_180
    shutil.copy(good, tmp_path / "aircraft" / "good.yaml")
    text = good.read_text(encoding="utf-8").replace("usable_gal: 56", "usable_galons: 56")
    (tmp_path / "aircraft" / "bad.yaml").write_text(text + "\nflaps: 3\n", encoding="utf-8")
    (tmp_path / "trips.csv").write_text(TRIPS, encoding="utf-8")
    (tmp_path / "study.yaml").write_text(STUDY, encoding="utf-8")
    return tmp_path


def faults_of(path):
    with pytest.raises(InputError) as caught:
        load_study(path)
    return caught.value.faults


def test_faults_of_three_files_come_at_once_with_file_and_line(folder):
    faults = faults_of(folder / "study.yaml")
    at = [(f.file.rsplit("/", 1)[-1], f.line) for f in faults]
    # Lines are counted in the texts above, independently of the reader.
    bad = (folder / "aircraft" / "bad.yaml").read_text(encoding="utf-8").splitlines()
    tanks, flaps = (next(i for i, line in enumerate(bad, 1) if w in line) for w in ("galons", "flaps"))
    expected = {("study.yaml", 4), ("study.yaml", 7), ("study.yaml", 12), ("study.yaml", 14), ("trips.csv", 3),
                ("trips.csv", 4), ("trips.csv", 5), ("bad.yaml", tanks), ("bad.yaml", flaps)}
    assert set(at) == expected
    assert len(faults) >= 10
    assert len([a for a in at if a == ("trips.csv", 5)]) == 2
    assert len(set(map(str, faults))) == len(faults)


def test_faults_say_value_range_and_near_match(folder):
    text = "\n".join(map(str, faults_of(folder / "study.yaml")))
    for words in ("unknown key 'replicatons'", "Did you mean 'replications'?",
                  "is -5; accepted: a number from 40 to 40,000", "goood.yaml' not found", "Did you mean 'good.yaml'?",
                  "is 600; accepted: a number from 0.5",
                  "no airport 'KBOl' is known", "Did you mean 'KBOI'?", "is 'heavy'; accepted: a number",
                  "unknown key 'usable_galons'", "Did you mean 'usable_gal'?", "unknown key 'flaps'",
                  "2025 has no 29 February"):
        assert words in text


def test_a_syntax_error_hides_the_rest_of_its_own_file_only(folder):
    (folder / "aircraft" / "bad.yaml").write_text("name: [never closed\nflaps: 3\n", encoding="utf-8")
    faults = faults_of(folder / "study.yaml")
    assert [f.line for f in faults if "bad.yaml" in f.file] == [2]
    assert {f.file.rsplit("/", 1)[-1] for f in faults} == {"study.yaml", "bad.yaml", "trips.csv"}


def test_the_same_bad_profile_used_twice_reports_once(folder):
    text = STUDY.replace("aircraft/goood.yaml", "aircraft/bad.yaml\n    name: again")
    (folder / "study.yaml").write_text(text, encoding="utf-8")
    faults = faults_of(folder / "study.yaml")
    assert len([f for f in faults if "flaps" in str(f)]) == 1


def good_study(folder):
    data = {"study": "fine", "home": "KGRI", "trips": "trips.csv", "candidates": ["aircraft/good.yaml"]}
    (folder / "trips.csv").write_text("date,to\n2025-03-04,KOMA\n", encoding="utf-8")
    return data


def written(folder, data):
    path = folder / "study.yaml"
    path.write_text(yaml.safe_dump(data), encoding="utf-8")
    return path


@pytest.mark.parametrize(("change", "key", "words"), [
    ({"study": None}, "study", "is empty; accepted: text"),
    ({"study": ""}, "study", "is empty; accepted: text of 1 to 200 characters"),
    ({"home": "KGRX"}, "home", "no airport 'KGRX' is known"),
    ({"home": 5}, "home", "is 5; accepted: text"),
    ({"home": True}, "home", "is true; accepted: text (in quotes where it looks like"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "changes": {"weights.max_takeoff_lb": 2900}}]},
     "candidates[1].changes", "max_takeoff_lb"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "changes": {"tables.cruise.mixture": "lean"}}]},
     "candidates[1].changes", "no such part"),
    ({"year": 1850}, "year", "is 1850; accepted: a whole number from 1,950 to 2,100"),
    ({"year": 2025.5}, "year", "whole number"),
    ({"replications": 0}, "replications", "from 1 to 100,000"),
    ({"candidates": []}, "candidates", "has 0 entries; accepted: a list of 1 to 50 entries"),
    ({"candidates": "aircraft/good.yaml"}, "candidates", "a list"),
    ({"candidates": ["aircraft"]}, "aircraft", "is a folder"),
    ({"candidates": ["aircraft/good.yaml"] * 2}, "candidates[2]", "two candidates are named"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "upgrades": ["speed_kitt"]}]}, "candidates[1].upgrades[1]",
     "Did you mean 'speed_kit'?"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "changes": {"weights.max_takoff_lb": 2900}}]},
     "candidates[1].changes.weights.max_takoff_lb", "Did you mean 'weights.max_takeoff_lb'?"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "changes": {"identity.seats": 40}}]},
     "candidates[1].changes.identity.seats", "is 40"),
    ({"candidates": [{"aircraft": "aircraft/good.yaml", "price_usd": 1}]}, "candidates[1].price_usd", "from 1,000"),
    ({"trips": None}, "", "either `trips` or `demand` (or `members` with their own); neither given"),
    ({"trips": "trip.csv"}, "trips", "Did you mean 'trips.csv'?"),
    ({"trips": "a\0b.csv"}, "trips", "the character U+0000"),
    ({"trips": "x" * 900}, "trips", "not found"),
    ({"trips": "~nobody/x.csv"}, "trips", "not found"),
    ({"candidates": ["y" * 900, "z"]}, "candidates[2].aircraft", "not found"),
    ({"extends": "z" * 900}, "extends", "not found"),
    ({"weather_files": {"KOMA": "w" * 900}}, "weather_files.KOMA", "not found"),
    ({"trips": {"file": "trips.csv", "rows": "leg"}}, "trips.rows",
     "is 'leg'; accepted: trips, legs. Did you mean 'legs'?"),
    ({"trips": {"file": "trips.csv", "columns": {"dat": "x"}}}, "trips.columns", "Did you mean 'date'?"),
    ({"pilot": {"total_h": 100, "retractable_h": 200}}, "pilot", "no larger than total_h"),
    ({"pilot": {"rating": "visuel"}}, "pilot.rating", "Did you mean 'visual'?"),
    ({"pilot": {"type_h": {"Rooomy": 5}}}, "pilot.type_h.Rooomy", "no candidate is named"),
    ({"assumptions": {"trip.leave_locl_h": 7}}, "assumptions.trip.leave_locl_h", "Did you mean 'trip.leave_local_h'?"),
    ({"assumptions": {"trip.leave_local_h": "early"}}, "assumptions.trip.leave_local_h", "a number [h, local clock]"),
    ({"airports": {"KOMX": {"fuel": False}}}, "airports.KOMX", "a new airport needs latitude_deg"),
    ({"airports": {"KOMA": {"timezone": "Mars/North"}}}, "airports.KOMA.timezone", "IANA time zone"),
    ({"airports": {"KOMA": {"runways": [{"ends": "north", "length_ft": 5000}]}}}, "airports.KOMA.runways[1].ends",
     "such as 17/35"),
    ({"airports": {"KOMA": {"fuel": False, "fuel_price_usd_per_gal": 6}}}, "airports.KOMA", "do not fit together"),
    ({"prices": {"fuel_at": {"KOMX": 5}}}, "prices.fuel_at.KOMX", "no airport"),
    ({"weather_files": {"KOMA": "nowhere.epw"}}, "weather_files.KOMA", "not found"),
    ({"airports_file": "a.csv"}, "", "only one given"),
    ({"years": 5, "years_kept": 3}, "", "`years_kept` only where `years` is 1, or the same as it; 3 and 5 given"),
    ({"oxygen": "maybe"}, "oxygen", "yes, no, as_equipped"),
    ({"extends": "study.yaml"}, "extends", "in a circle"),
    ({"value_of_time_usd_per_h": float("nan")}, "value_of_time_usd_per_h", "is nan"),
    ({"value_of_time_usd_per_h": float("inf")}, "value_of_time_usd_per_h", "is inf"),
    ({"seed": 10**400}, "seed", "at most 300 digits"),
])
def test_single_faults(folder, change, key, words):
    faults = faults_of(written(folder, {k: v for k, v in (good_study(folder) | change).items()
                                        if v is not None or k == "study"}))
    text = "\n".join(map(str, faults))
    assert words in text
    assert any(key in f"{f.file}: {f.key}" and words in str(f) for f in faults)


def test_the_good_study_of_these_tests_is_good(folder):
    assert load_study(written(folder, good_study(folder))).name == "fine"


def test_studies_that_extend_each_other_in_a_circle(folder):
    (folder / "a.yaml").write_text("extends: b.yaml\nstudy: a\n", encoding="utf-8")
    (folder / "b.yaml").write_text("\nextends: a.yaml\n", encoding="utf-8")
    faults = faults_of(folder / "a.yaml")
    assert len(faults) == 1
    assert faults[0].file.endswith("b.yaml")
    assert faults[0].line == 2


def test_a_fault_in_an_extended_study_names_that_file(folder):
    (folder / "deep").mkdir()
    base = good_study(folder) | {"trips": "../trips.csv", "candidates": ["../aircraft/good.yaml"], "plan_by": "mood"}
    (folder / "deep" / "base.yaml").write_text(yaml.safe_dump(base), encoding="utf-8")
    (folder / "study.yaml").write_text("extends: deep/base.yaml\nstudy: mine\nseed: -1\n", encoding="utf-8")
    faults = faults_of(folder / "study.yaml")
    assert {(f.file.rsplit("/", 1)[-1], f.key) for f in faults} == {("base.yaml", "plan_by"), ("study.yaml", "seed")}


JUNK = st.sampled_from([
    None, True, "", "x", -1, 0, 1e308, float("nan"), [], {}, [1], {"a": 1}, "KGRI", 10**30, "\ud7ff", "2025-01-01",
    {1: 2}, [[]], {"file": 3}, [{}], [None], "trips.csv", "../..", "~nobody/x", "a\tb"])
KEYS = ("study", "question", "home", "year", "seed", "replications", "years", "pilot", "trips", "demand", "candidates",
        "operation", "prices", "value_of_time_usd_per_h", "plan_by", "mixture", "oxygen", "airports", "airports_file",
        "runways_file", "weather_files", "assumptions", "extends", "members", "outside", "unknown", "pilot.type_h",
        "trips.columns", "airports.KOMA", "prices.fuel_at")


@settings(max_examples=120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.dictionaries(st.sampled_from(KEYS), JUNK, min_size=1, max_size=3))
def test_any_study_is_loaded_or_refused_with_faults(folder, changes):
    data = good_study(folder)
    for key, value in changes.items():
        outer, _, inner = key.partition(".")
        data[outer] = {inner: value} if inner else value
    try:
        study = load_study(written(folder, data))
    except InputError as error:
        assert error.faults  # noqa: PT017
    else:
        assert study.candidates


SNIPPETS = (b"nan", b".inf", b"-1", b"1e999", b"null", b"true", b"[]", b"{}", b"&a", b"*a", b"2025-02-30", b"\xff",
            b"\t", b'"', b"\x00", b"8:30", b"? a", b",", b";", b"2025-02-29", b"KGRI", b"x" * 300,
            b"3/4/2025", b"45720.5", b"1.234,5")


def mutated(content, rng):
    """Return a file with a few bytes, lines or values spoilt."""
    content = bytearray(content)
    for _ in range(rng.choice([1, 1, 2, 5])):
        at = rng.randrange(len(content))
        kind = rng.randrange(4)
        if kind == 0:
            content[at] = rng.randrange(256)
        elif kind == 1:
            content[at:at] = rng.choice(SNIPPETS)
        elif kind == 2:
            del content[at:at + rng.randrange(1, 30)]
        else:
            lines = bytes(content).split(b"\n")
            lines.insert(rng.randrange(len(lines)), rng.choice(lines))
            content = bytearray(b"\n".join(lines))
        content = content or bytearray(b" ")
    return bytes(content)


@pytest.mark.slow
def test_spoilt_files_are_loaded_or_refused_with_faults(tmp_path):
    rng = random.Random(7)
    shutil.copytree(demo_folder(), tmp_path / "demo")
    files = [tmp_path / "demo" / "studies" / "buyer.yaml", tmp_path / "demo" / "trips" / "farm_dealer.csv",
             *sorted((tmp_path / "demo" / "aircraft").glob("*.yaml"))]
    whole = {file: file.read_bytes() for file in files}
    refused = 0
    for _ in range(500):
        spoilt = rng.sample(files, 2)
        for file in spoilt:
            file.write_bytes(mutated(whole[file], rng))
        try:
            load_study(files[0])
        except InputError as error:
            refused += 1
            assert all(f.file and f.what for f in error.faults)  # noqa: PT017
        for file in spoilt:
            file.write_bytes(whole[file])
    assert refused > 100
