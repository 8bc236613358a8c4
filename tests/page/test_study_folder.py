from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.page.files import ChangedOutsideError
from missionsim.page.study_file import RefusedError
from missionsim.page.study_folder import StudyFolder
from missionsim.study.inputs.load_study import load_study


def _row(**cells):
    return {"date": "2025-03-04", "to": "KOMA"} | cells


@pytest.fixture
def begun(empty):
    empty.set_value(["home"], "kgri")
    empty.add_rows([_row(purpose="a, \"b\"")])
    return empty


def test_a_new_study_writes_nothing_until_something_is_accepted(empty, tmp_path):
    assert list(tmp_path.iterdir()) == []
    with pytest.raises(RefusedError, match="KZZZZ"):
        empty.set_value(["home"], "KZZZZ")
    assert list(tmp_path.iterdir()) == []
    empty.set_value(["home"], "kgri")
    assert "home: KGRI" in (tmp_path / "my_flying" / "study.yaml").read_text(encoding="utf-8")


def test_home_may_be_a_town(empty):
    empty.set_value(["home"], "Grand Island, NE")
    assert empty.file.get(["home"]) == "KGRI"


def test_what_was_accepted_is_there_when_it_is_opened_again(begun):
    begun.set_cell("t1", "adults", "3", "")
    again = StudyFolder.opened(begun.file.path)
    assert [r.cells["adults"] for r in again.rows] == ["3"]
    assert again.rows[0].cells["purpose"] == 'a, "b"'
    assert again.rows[0].trip.people == 3


def test_rows_that_cannot_be_read_come_back_and_the_others_stay(begun):
    said = begun.add_rows([_row(date="2025-05-05"), _row(to="KQQQQ"), _row(date="soon")])
    assert [bool(f) for f in said] == [False, True, True]
    assert [r.ident for r in begun.rows] == ["t1", "t2"]
    assert said[1][0].key == "to"
    assert said[2][0].key == "date"


def test_a_refused_cell_changes_neither_file_nor_table(begun):
    before = (begun.folder / "trips.csv").read_bytes()
    with pytest.raises(RefusedError, match="KOMX"):
        begun.set_cell("t1", "to", "KOMX", "KOMA")
    assert (begun.folder / "trips.csv").read_bytes() == before
    assert begun.rows[0].cells["to"] == "KOMA"


def test_two_windows_do_not_overwrite_each_other(begun):
    begun.set_cell("t1", "adults", "3", "")
    with pytest.raises(ChangedOutsideError, match="'3'"):
        begun.set_cell("t1", "adults", "4", "")
    with pytest.raises(ChangedOutsideError, match="KGRI"):
        begun.set_value(["home"], "KOMA", "KLNK")


def test_a_file_changed_by_another_program_is_not_overwritten(begun):
    trips = begun.folder / "trips.csv"
    trips.write_text(trips.read_text(encoding="utf-8") + "t7,2025-06-01,,KDSM\n", encoding="utf-8")
    with pytest.raises(ChangedOutsideError, match=r"trips\.csv"):
        begun.set_cell("t1", "adults", "4", "")
    assert begun.refreshed()
    assert [r.ident for r in begun.rows] == ["t1", "t7"]


def test_a_trip_list_of_somebody_else_is_left_alone(empty):
    empty.folder.mkdir()
    (empty.folder / "trips.csv").write_text("mine\n", encoding="utf-8")
    empty.set_value(["home"], "KGRI")
    with pytest.raises(ChangedOutsideError, match="not this study's"):
        empty.add_rows([_row()])
    assert (empty.folder / "trips.csv").read_text(encoding="utf-8") == "mine\n"


def test_comments_and_order_of_a_study_stay(demo):
    before = demo.file.path.read_text(encoding="utf-8")
    demo.set_value(["prices", "fuel_usd_per_gal"], "$7.25", "6")
    after = demo.file.path.read_text(encoding="utf-8")
    changed = [(a, b) for a, b in zip(before.splitlines(), after.splitlines(), strict=True) if a != b]
    assert len(changed) == 1
    assert "7.25" in changed[0][1]
    assert load_study(demo.file.path).spec.prices.fuel_usd_per_gal == 7.25


def test_a_value_out_of_range_is_refused_with_what_is_accepted(demo):
    with pytest.raises(RefusedError, match="16 to 100"):
        demo.set_value(["pilot", "age"], "300", "46")


def test_files_outside_the_folder_are_copied_before_they_change(demo):
    card = demo.hangar.cards[0]
    original = card.file.read_bytes()
    demo.hangar.set_figure(card.key, ["prices", "asking_price_usd"], "101,500")
    assert card.file.read_bytes() == original
    own = demo.hangar.card(card.key)
    assert own.file.parent == demo.folder / "aircraft"
    assert own.data["prices"]["asking_price_usd"] == 101_500
    assert load_study(demo.file.path).candidates[0].profile.prices.asking_price_usd == 101_500
    demo.set_cell(demo.rows[0].ident, "adults", "1", demo.rows[0].cells["adults"])
    assert demo.file.get(["trips"]) == "trips.csv"
    assert len(load_study(demo.file.path).listed.trips) == len(demo.rows)


def test_demo_can_be_flown_as_opened(demo):
    assert demo.needs() == []
    assert demo.faults() == []


def test_a_folder_of_several_studies_asks_which(demo):
    with pytest.raises(InputError, match="several studies"):
        StudyFolder.opened(demo.folder)


def test_removing_what_is_gone_is_said(begun):
    begun.remove_row("t1")
    with pytest.raises(RefusedError, match="not in the list"):
        begun.remove_row("t1")


def test_hostile_text_stays_text(begun):
    begun.add_rows([_row(date="2025-07-01", purpose="=cmd()\n<script>x</script>,\"")])
    assert StudyFolder.opened(begun.file.path).rows[1].cells["purpose"] == "=cmd() <script>x</script>,\""
