"""Checks of profiles, studies and trip lists: what is shown of good ones, and every fault of bad ones at once."""

from __future__ import annotations

import json
import shutil

import pytest
from aircraft_cases import WHOLE_180

from missionsim.base.errors import InputError
from missionsim.report.check import check_sheets
from missionsim.study.inputs.check import ListHints, ProfileCheck, StudyCheck, TripsCheck, check_files, check_json
from missionsim.study.inputs.files import demo_folder

AIRCRAFT = demo_folder() / "aircraft"
TRIPS = demo_folder() / "trips"


def test_a_fitted_profile_shows_what_the_fit_did_not_use():
    (found,) = check_files([str(AIRCRAFT / "retractable_260.yaml")])
    assert isinstance(found, ProfileCheck)
    used = {line.figure: line.used_in_fit for line in found.fit}
    assert used["cruise speed at 8,000 ft, 75%"]
    assert not used["service ceiling"]
    assert not used["cruise speed at 10,000 ft, 65%"]
    assert all(abs(line.residual_share) < 1e-3 for line in found.fit if line.used_in_fit)
    assert all(abs(line.residual_share) < 0.06 for line in found.fit)
    assert found.useful_lb == pytest.approx(2960 - 1905)
    assert found.full_fuel_payload_lb == pytest.approx(2960 - 1905 - 6 * 70)


def test_what_the_advertisement_leaves_open_is_named_in_plain_words():
    (found,) = check_files([str(AIRCRAFT / "retractable_260.yaml")])
    opened = {item.key: item for item in found.open}
    assert "engine.hours_since_overhaul_h" in opened
    assert opened["engine.hours_since_overhaul_h"].taken.startswith("790 to 1,040")
    assert opened["engine.hours_since_overhaul_h"].source == "the advertisement"
    assert "propeller.hours_since_overhaul_h" in opened
    assert opened["propeller.hours_since_overhaul_h"].source != "the advertisement"
    assert all(item.label and item.taken and "_" not in item.label for item in found.open)


def test_a_handbook_profile_takes_all_book_figures_as_checks():
    (found,) = check_files([str(AIRCRAFT / "carrier_230.yaml")])
    assert found.profile.form == "handbook"
    assert not any(line.used_in_fit for line in found.fit)
    assert found.derived == ()


def test_a_study_brings_its_aircraft_and_trips():
    (found,) = check_files([str(demo_folder() / "studies" / "buyer.yaml")])
    assert isinstance(found, StudyCheck)
    assert len(found.aircraft) == 4
    assert len(found.study.listed) == 63


def test_a_trip_list_by_itself():
    (found,) = check_files([str(TRIPS / "farm_dealer.csv")])
    assert isinstance(found, TripsCheck)
    assert (found.table.home, found.table.year, len(found.table)) == ("KGRI", 2025, 63)


def test_a_logbook_by_itself_is_stitched_and_says_what_is_left_over():
    (found,) = check_files([str(TRIPS / "logbook.csv")], ListHints(columns={"fuel_stop": "Fuel only"}))
    assert found.table.from_logbook
    assert [u.line for u in found.table.unstitched] == [14, 15]
    assert found.table.local_flights == 1  # line 5: landings at home
    assert [row.line for row in found.table.set_aside] == [12, 13]  # to the avionics shop and back
    text = "\n".join(line for lines, _ in check_sheets([found]) for line in lines)
    assert "only the trips that went" in text


def test_a_calendar_export_is_read_with_its_own_headings():
    hints = ListHints("KGRI", None, {"date": "Start Date", "time": "Start Time", "return": "End Date", "to": "Location",
                                     "return_time": "End Time", "adults": "People", "children": "Kids",
                                     "bags_lb": "Luggage", "must_go": "Cannot be moved", "purpose": "Subject"})
    (found,) = check_files([str(TRIPS / "calendar_export.csv")], hints)
    assert len(found.table) >= 5
    with pytest.raises(InputError, match="does not say where the trips start"):
        check_files([str(TRIPS / "calendar_export.csv")], ListHints(columns=hints.columns))


def test_faults_of_all_files_come_together(tmp_path):
    profile = tmp_path / "mine.yaml"
    text = WHOLE_180.read_text(encoding="utf-8")
    profile.write_text(text.replace("usable_gal: 56", "usable_gal: 5600").replace("climb_fpm: 735", "climb_rate: 735"),
                       encoding="utf-8")
    trips = tmp_path / "trips.csv"
    trips.write_text("date,from,to\n2025-02-30,KGRI,KOMA\n2025-03-01,KGRI,KOM4\n", encoding="utf-8")
    with pytest.raises(InputError) as caught:
        check_files([str(profile), str(trips), str(tmp_path / "absent.yaml")])
    told = [str(fault) for fault in caught.value.faults]
    assert len(told) == len(set(told)) >= 5
    assert sum("mine.yaml:" in line for line in told) >= 3
    assert sum("trips.csv:" in line for line in told) == 2
    assert sum("absent.yaml: file not found" in line for line in told) == 1


def test_figures_that_no_aircraft_can_meet_are_a_fault_with_the_file(tmp_path):
    profile = tmp_path / "wild.yaml"
    text = WHOLE_180.read_text(encoding="utf-8")
    profile.write_text(text.replace("climb_fpm: 735", "climb_fpm: 2400"), encoding="utf-8")
    with pytest.raises(InputError, match=r"wild\.yaml.*efficiency"):
        check_files([str(profile)])


@pytest.mark.parametrize(("name", "text", "match"), [
    ("a.yaml", "colour: red\n", "neither a study nor an aircraft"), ("a.pdf", "x", r"ends in \.pdf"),
    ("a.csv", "date,to\n2025-01-01,KOMA\n", "does not say where the trips start"),
    ("b.csv", "date,from,to\n2025-01-01,KGR1,KOMA\n", r"no airport 'KGR1' is known"),
    ("b.yaml", "home: [\n", r"b\.yaml:")])
def test_files_that_are_nothing_are_told_so(tmp_path, name, text, match):
    (tmp_path / name).write_text(text, encoding="utf-8")
    with pytest.raises(InputError, match=match):
        check_files([str(tmp_path / name)])


def test_a_heading_for_a_column_that_does_not_exist_is_a_fault():
    with pytest.raises(InputError, match=r"--column: .*|destination"):
        check_files([str(TRIPS / "farm_dealer.csv")], ListHints(columns={"destination": "to"}))


def test_the_data_are_clean_for_every_demo_file(tmp_path):
    files = [str(path) for path in sorted(AIRCRAFT.glob("*.yaml"))] + [str(TRIPS / "farm_dealer.csv")]
    shutil.copy(TRIPS / "farm_dealer.csv", tmp_path / "again.csv")
    checked = check_files([*files, str(tmp_path / "again.csv")])
    data = json.loads(json.dumps(check_json(checked), allow_nan=False))
    assert [entry["kind"] for entry in data["files"]] == ["aircraft"] * 4 + ["trips"] * 2
    for lines, sheets in check_sheets(checked):
        assert lines[0].endswith(": good")
        assert all(len(row) == len(sheet.headings) for sheet in sheets for row in sheet.rows)


def test_open_figures_are_told_as_they_are_drawn():
    """Not the prior behind a figure: `40 to 130` hours a year is no year, and a share is no number of hours."""
    found = check_files([str(path) for path in sorted(AIRCRAFT.glob("*.yaml"))])
    told = {o.key: o.taken for item in found for o in item.open}
    year = [int(word.strip(",")) for word in told["engine.overhaul_year"].split() if word.strip(",").isdigit()]
    assert all(1960 <= y <= 2030 for y in year)
    assert year[0] <= year[2] <= year[1]  # low to high, likely
    assert "," not in told["engine.overhaul_year"].split("likely")[0].replace(", ", "")
    for key, text in told.items():
        assert "_" not in text
        if key.endswith("_usd"):
            assert text.count("$") == 3
