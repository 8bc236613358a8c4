"""Files in which everything is wrong: every fault counts, as many are told as somebody reads, in a moment."""

from __future__ import annotations

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base import errors
from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import MOST_TOLD, Fault, InputError, NearMatches, told, told_apart
from missionsim.study.inputs.load_study import load_study

MANY = 3 * MOST_TOLD
HEAD = {"study": "s", "home": "KGRI", "year": 2025}


def faults_of(tmp_path, data, trips=""):
    (tmp_path / "s.yaml").write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
    (tmp_path / "trips.csv").write_text(trips, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_study(tmp_path / "s.yaml")
    return caught.value


@pytest.fixture
def asked(monkeypatch):
    """Count near matches that are looked for, and let each word be near."""
    words = []
    monkeypatch.setattr(errors, "near_match", lambda word, known: words.append(word) or "near")
    return words


@pytest.mark.parametrize(("many", "last"), [
    (MOST_TOLD, None), (MOST_TOLD + 1, "1 more fault is told once these are mended."),
    (MOST_TOLD + 2, "2 more faults are told once these are mended."),
    (50_001, "49,001 more faults are told once these are mended.")])
def test_a_thousand_faults_are_told_and_the_others_counted(many, last):
    faults = [Fault("s.yaml", f"k{i}", "unknown key", line=i) for i in range(1, many + 1)]
    lines = told(faults)
    assert lines[:MOST_TOLD] == [f"s.yaml:{i}: k{i}: unknown key." for i in range(1, MOST_TOLD + 1)]
    assert lines[MOST_TOLD:] == ([last] if last else [])
    assert str(InputError(faults)).split("\n") == lines
    assert len(InputError(faults).faults) == many


def test_near_matches_are_looked_for_as_long_as_they_are_told(asked):
    nearest = NearMatches()
    assert [nearest.of("hom", ["home"]) for _ in range(MOST_TOLD + 5)] == ["near"] * MOST_TOLD + [""] * 5
    assert len(asked) == MOST_TOLD


def test_strange_keys_are_told_in_the_order_of_the_file_each_with_its_near_match(tmp_path, asked):
    error = faults_of(tmp_path, HEAD | {f"homee{i}": 1 for i in range(MANY)} | {"replicatons": 3})
    strange = [f for f in error.faults if f.what.startswith("unknown key")]
    assert [f.line for f in strange] == list(range(4, 4 + MANY + 1))      # below the three lines of HEAD
    assert {f.near for f in error.faults[:MOST_TOLD] if f in strange} == {"near"}
    assert len(asked) <= MOST_TOLD
    assert str(error).endswith(f"{len(error.faults) - MOST_TOLD:,} more faults are told once these are mended.")


@pytest.mark.parametrize(("data", "trips"), [
    ({"assumptions": {f"runway.marg{i}": 1 for i in range(MANY)}}, ""),
    ({"candidates": [{"aircraft": "none.yaml", **{f"nam{i}": 1 for i in range(MANY)}}]}, ""),
    ({"prices": {f"fuel_u{i}": 1 for i in range(MANY)}}, ""),
    ({"trips": "trips.csv"}, ",".join(["date", "to", *(f"peopl{i}" for i in range(MANY))]))])
def test_of_no_table_more_near_matches_are_worked_out_than_told(tmp_path, asked, data, trips):
    faults_of(tmp_path, HEAD | data, trips)
    assert 0 < len(asked) <= MOST_TOLD + 40      # and some of other kinds, such as a misspelt file


def test_a_list_whose_places_nobody_knows_is_read_to_its_end(tmp_path, monkeypatch):
    looked = []
    monkeypatch.setattr("missionsim.world.airports.search.near_code", lambda ident, _: looked.append(ident) or "KGRI")
    trips = "date,to\n" + "".join(f"2025-03-04,Q{i}\n" for i in range(MANY))
    error = faults_of(tmp_path, HEAD | {"trips": "trips.csv"}, trips)
    of_places = [f for f in error.faults if f.key == "to"]
    assert len(of_places) == MANY
    assert [f.near for f in of_places[:MOST_TOLD]] == ["KGRI"] * MOST_TOLD
    assert not any(f.near for f in of_places[MOST_TOLD:])
    assert len(looked) == MOST_TOLD


def test_unknown_assumptions_are_each_named(asked):
    with pytest.raises(InputError) as caught:
        packaged_assumptions().replaced({f"runway.marg{i}": 1 for i in range(MANY)})
    assert [f.key for f in caught.value.faults] == [f"assumptions.runway.marg{i}" for i in range(MANY)]
    assert {f.near for f in caught.value.faults[:MOST_TOLD]} == {"near"}
    assert len(asked) == MOST_TOLD


@pytest.mark.parametrize(("value", "decimals", "said", "accepted"), [
    (1.2, 2, "1.2", "0.35 to 0.92"), (0.92, 2, "0.92", "0.35 to 0.9199996"), (0.3, 0, "0.3", "0.35 to 0.92"),
    (0.9200004, 2, "0.9200004", "0.35 to 0.92"), (100.0, 0, "100", "0 to 1")])
def test_a_refused_number_is_told_apart_from_the_limit_it_misses(value, decimals, said, accepted):
    low, high = {0.92: (0.35, 0.9199996), 0.3: (0.35, 0.92)}.get(value, (0.35, 0.92))
    assert told_apart(value, low, high, decimals) == (said, accepted)


@given(st.floats(1e-3, 1e4), st.floats(1e-3, 1e4), st.floats(1e-9, 10.0), st.booleans())
def test_of_no_refused_number_the_limits_hide_what_is_wrong(one, other, by, above):
    low, high = sorted((one, other))
    value = high + by if above else low - by
    said, accepted = told_apart(value, low, high, 1)
    least, most = map(float, accepted.split(" to "))
    assert not least <= float(said) <= most
    assert not least <= value <= most
