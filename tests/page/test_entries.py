"""What is typed for lists, weights and airports, and lists of tables that grow and shrink in a file."""

from __future__ import annotations

import pytest

from missionsim.page.entries import shown, typed
from missionsim.page.fields import ELSEWHERE, HABITS, LIMITS, MORE_PRICES, PILOT, PRICES, STUDY
from missionsim.page.files import ChangedOutsideError
from missionsim.page.study_file import RefusedError
from missionsim.page.study_folder import StudyFolder
from missionsim.page.yaml_file import value_at, with_value
from missionsim.study.inputs.schema import Prices, StudySpec
from missionsim.study.inputs.schema_parts import Pilot, WakingHours


@pytest.mark.parametrize(("key", "text", "value"), [
    ("nights", "1", 1), ("nights", "1: 0.7, 2: 0.3", {1: 0.7, 2: 0.3}), ("season", "summer: 2, spring: 1",
                                                                       {"summer": 2, "spring": 1}),
    ("season", "autumn", {"autumn": 1}), ("weekdays", "mon, tue", ["mon", "tue"]),
    ("weekdays", "weekend", ["sat", "sun"]),
    ("weekdays", "any day", ["mon", "tue", "wed", "thu", "fri", "sat", "sun"]), ("sizes", "1 2 4", [1, 2, 4]),
    ("sizes", "3", [3]), ("bags_lb", "60 / 200 / 320", [60, 200, 320]), ("bags_lb", "80", 80),
    ("notice_days", "0.3 / 2 / 14", [0.3, 2, 14]), ("when_it_does_not_fit", "none", []),
    ("when_it_does_not_fit", "leave_gear seats_out", ["leave_gear", "seats_out"]), ("purpose", "yes", "yes"),
    ("name", "12", "12"), ("per_year", " 6 ", 6), ("second_pilot", "no", False), ("anything", "", None),
    ("fuel_at", "KOMA: 6.10, KLBF: 5.8", {"KOMA": 6.1, "KLBF": 5.8}), ("nights", "<x=1>, 2: 3", "<x=1>, 2: 3")])
def test_typed_values_become_plain_data_and_show_again(key, text, value):
    assert typed(key, text) == value
    assert typed(key, shown(typed(key, text))) == value


def test_lists_in_a_file_change_without_their_neighbours():
    text = "demand:   # where\n  - {to: KOMA, per_year: 6}\n  # the other\n  - to: KLBF\n    per_year: 2\n"
    after = with_value(text, "x", ["demand", "1", "per_year"], 4)
    assert value_at({"demand": [{"to": "KOMA"}, {"to": "KLBF"}]}, ["demand", "1", "to"]) == "KLBF"
    assert after == text.replace("per_year: 2", "per_year: 4")
    assert with_value(text, "x", ["demand", "2"], {"to": "KOMA"}).endswith("- to: KOMA\n")
    assert "KLBF" not in with_value(text, "x", ["demand", "1"], None)


def test_every_key_of_a_study_has_a_field_or_a_place():
    shown_keys = {f.path for group in (STUDY, PILOT, PRICES, HABITS, LIMITS, MORE_PRICES) for f in group}
    tables = {"pilot": Pilot, "prices": Prices, "waking_hours": WakingHours}
    keys = {name for name in StudySpec.model_fields if name not in tables}
    keys |= {f"{table}.{name}" for table, model in tables.items() for name in model.model_fields}
    assert keys - shown_keys == set(ELSEWHERE)


def begun(empty):
    empty.set_value(["home"], "KGRI")
    empty.set_value(["year"], "2025")
    return empty


def test_a_fault_that_was_there_before_is_not_held_against_another_value(demo):
    path = demo.file.path
    for key, hours in (("total_h", 200), ("retractable_h", 300)):
        path.write_text(with_value(path.read_text(encoding="utf-8"), "x", ["pilot", key], hours), encoding="utf-8")
    again = StudyFolder(path)
    again.set_value(["pilot", "age"], "50")
    assert again.file.get(["pilot", "age"]) == 50


def test_of_two_values_that_do_not_fit_the_first_is_kept_and_what_is_still_wrong_is_told(demo):
    path = demo.file.path
    for key, hours in (("total_h", 200), ("retractable_h", 300)):
        path.write_text(with_value(path.read_text(encoding="utf-8"), "x", ["pilot", key], hours), encoding="utf-8")
    again = StudyFolder(path)
    still = again.set_value(["pilot", "total_h"], "250")    # 300 of 250 hours
    assert [(f.key, "retractable" in f.accepted) for f in still] == [("pilot", True)]
    assert again.file.get(["pilot", "total_h"]) == 250
    assert again.set_value(["pilot", "retractable_h"], "200") == []
    with pytest.raises(RefusedError):
        again.set_value(["pilot", "retractable_h"], "300")  # now it would be this that does not fit


def test_where_one_goes_how_often_is_typed_in_rows(empty):
    folder = begun(empty)
    folder.add_entry(["demand"], {"to": "Omaha, NE", "per_year": "6", "nights": "0: 0.5, 1: 0.5", "purpose": "dealer"})
    folder.add_entry(["demand"], {"to": "KOFK KYKN", "per_year": "2"})
    assert folder.file.get(["demand"]) == [
        {"to": "KOMA", "per_year": 6, "nights": {0: 0.5, 1: 0.5}, "purpose": "dealer"},
        {"to": ["KOFK", "KYKN"], "per_year": 2}]
    folder.set_value(["demand", "1", "per_year"], "3", "2")
    assert folder.file.get(["demand", "1", "per_year"]) == 3
    with pytest.raises(ChangedOutsideError):
        folder.set_value(["demand", "1", "per_year"], "4", "2")


@pytest.mark.parametrize(("cells", "key"), [
    ({"to": "KOMA", "per_year": "many"}, "demand[1].per_year"), ({"to": "KQQQQ", "per_year": "2"}, "to"),
    ({"to": "KOMA"}, "demand[1].per_year"), ({"to": "KOMA", "per_year": "2", "nights": "90"}, "demand[1]")])
def test_a_row_that_is_not_good_is_refused_whole(empty, cells, key):
    folder = begun(empty)
    with pytest.raises(RefusedError) as found:
        folder.add_entry(["demand"], cells)
    assert [f.key for f in found.value.faults] == [key]
    assert folder.file.get(["demand"]) is None


def test_a_list_and_how_often_exclude_each_other_and_neither_is_lost(empty):
    folder = begun(empty)
    folder.add_rows([{"date": "2025-03-04", "to": "KOMA"}])
    with pytest.raises(RefusedError, match="either the list or how often"):
        folder.add_entry(["demand"], {"to": "KOMA", "per_year": "6"})
    folder.list_instead(often=True)
    assert (folder.rows, (folder.folder / "trips.csv").exists()) == ([], True)
    folder.add_entry(["demand"], {"to": "KOMA", "per_year": "6"})
    with pytest.raises(RefusedError, match="still has rows"):
        folder.list_instead(often=False)
    folder.remove_entry(["demand"], 0, "to KOMA; per_year 6")
    folder.list_instead(often=False)
    assert [row.cells["to"] for row in folder.rows] == ["KOMA"]


def test_an_entry_that_is_another_by_now_is_not_taken_out(empty):
    folder = begun(empty)
    folder.add_entry(["demand"], {"to": "KOMA", "per_year": "6"})
    with pytest.raises(ChangedOutsideError):
        folder.remove_entry(["demand"], 0, "to KLBF; per_year 6")
    assert len(folder.file.get(["demand"])) == 1


def test_prices_elsewhere_are_of_airports(empty):
    folder = begun(empty)
    folder.set_value(["prices", "fuel_at"], "koma: 6.10, KLBF: 5.8")
    assert folder.file.get(["prices", "fuel_at"]) == {"KOMA": 6.1, "KLBF": 5.8}
    with pytest.raises(RefusedError, match="KQQQQ"):
        folder.set_value(["prices", "fuel_at"], "KQQQQ: 6")


def test_what_a_study_would_not_load_with_is_refused_where_it_is_typed(demo):
    first, second = demo.hangar.cards[:2]
    with pytest.raises(RefusedError, match="there already"):
        demo.hangar.set_figure(second.key, ["name"], first.name)
    demo.hangar.set_figure(first.key, ["name"], "Renamed")
    with pytest.raises(RefusedError, match="there already"):
        demo.hangar.set_figure(demo.hangar.cards[1].key, ["name"], "Renamed")
    with pytest.raises(RefusedError, match="no file in this folder"):
        demo.set_value(["rent_aircraft"], "elsewhere.yaml")
    assert demo.faults() == []
