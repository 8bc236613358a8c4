from __future__ import annotations

import shutil
from datetime import datetime

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study


@pytest.fixture
def folder(tmp_path):
    shutil.copytree(demo_folder() / "aircraft", tmp_path / "aircraft")
    (tmp_path / "trips.csv").write_text("date,to\n2025-03-04,KOMA\n2025-07-04,KAPA\n", encoding="utf-8")
    return tmp_path


def load(folder, text):
    path = folder / "study.yaml"
    path.write_text(f"study: s\nhome: gri\ncandidates: [aircraft/fixed_180.yaml]\n{text}", encoding="utf-8")
    return load_study(path)


TRIPS = "trips: trips.csv\n"


def test_without_a_path_the_demo_is_loaded():
    study = load_study()
    assert study.home.ident == "KGRI"
    assert len(study.candidates) == 4
    assert len(study.trips(0)) == len(study.trips(7)) > 50
    assert study.year == 2025
    assert set(study.hashes) == {"buyer.yaml", *(c.file for c in study.candidates), "../trips/farm_dealer.csv"}


@pytest.mark.parametrize("text", ["years_kept: 7\n", "years: 3\nyears_kept: 3\n", "years: 3\n"])
def test_years_kept_stand_beside_one_year_flown_or_the_same_number(folder, text):
    spec = load(folder, TRIPS + text).spec
    assert (spec.years_kept or spec.years) in {7, 3}


def test_what_the_pilot_leaves_out_comes_from_the_assumptions(folder, assumptions):
    study = load(folder, TRIPS + "pilot: {total_h: 45, max_leg_h: 1.5}\n")
    assert study.pilot.max_leg_h == 1.5
    assert study.pilot.reserve_min == assumptions["pilot.reserve_min"]
    assert study.pilot.runway_margin == assumptions["runway.margin"]
    assert study.pilot.retractable_h <= 45
    assert study.type_h("anything") == assumptions["pilot.type_h"]


def test_hours_in_type_by_candidate(folder):
    study = load(folder, TRIPS + "pilot: {type_h: {180 hp four-seater: 80, every: 3}}\n")
    assert (study.type_h("180 hp four-seater"), study.type_h("other")) == (80, 3)


def test_the_year_comes_from_the_study_else_from_the_list(folder):
    assert load(folder, TRIPS).year == 2025
    with pytest.raises(InputError, match="no trip starts in 2024"):
        load(folder, TRIPS + "year: 2024\n")


def test_assumptions_are_replaced_and_marked(folder):
    study = load(folder, TRIPS + "assumptions: {trip.leave_local_h: 6.5}\n")
    assert study.assumptions["trip.leave_local_h"] == 6.5
    assert study.assumptions.entry("trip.leave_local_h").overridden
    assert study.listed[0].departs_local[0] == datetime(2025, 3, 4, 6, 30)


def test_airports_are_corrected_and_added(folder):
    (folder / "trips.csv").write_text("date,to\n2025-03-04,FARM\n", encoding="utf-8")
    study = load(folder, TRIPS + """airports:
  KOMA: {fuel: false, landing_fee_usd: 25}
  FARM: {latitude_deg: 41.2, longitude_deg: -98.9, elevation_ft: 2100, approach: none,
         runways: [{ends: 17/35, length_ft: 2300, surface: grass}]}
""")
    assert not study.airports.find("OMA").has_fuel
    assert study.airports.find("KOMA").landing_fee_usd == 25
    farm = study.airports.find("FARM")
    assert {e.ident for e in farm.ends} == {"17", "35"}
    assert farm.timezone == "America/Chicago"
    assert study.listed.places() == ("KGRI", "FARM")


def test_changes_price_and_upgrades_reach_the_profile(folder):
    path = folder / "study.yaml"
    path.write_text("""study: s
home: KGRI
trips: trips.csv
candidates:
  - aircraft: aircraft/fixed_180.yaml
  - aircraft: aircraft/fixed_180.yaml
    name: with changes
    price_usd: 99000
    upgrades: [ice_escape, vortex_generators]
    changes: {weights.max_landing_lb: 2450, limits.surfaces: [paved], panel.ice_protection: none}
""", encoding="utf-8")
    plain, changed = load_study(path).candidates
    assert changed.name == "with changes"
    assert changed.profile.prices.asking_price_usd == 99000
    assert changed.profile.weights.max_landing_lb == 2450
    assert changed.profile.limits.surfaces == ("paved",)
    assert changed.profile.panel.ice_protection == "escape"  # upgrades come after changes
    assert "vortex_generators" in changed.profile.changes.names
    assert plain.profile.changes.names != changed.profile.changes.names
    assert plain.profile.prices.asking_price_usd != 99000


def test_oxygen_and_mixture_of_the_study(folder):
    study = load(folder, TRIPS + "oxygen: yes\nmixture: lean\n")
    candidate = study.candidates[0]
    assert candidate.profile.panel.oxygen != "none"
    if candidate.profile.can_lean:
        assert candidate.profile.cruise.mixture == "lean"
    else:
        assert any("not run lean of peak" in n for n in study.notes)


def test_extended_studies_merge_tables_and_keep_their_own_paths(folder):
    (folder / "base").mkdir()
    (folder / "base" / "base.yaml").write_text("""study: base
home: KGRI
trips: ../trips.csv
candidates: [../aircraft/fixed_180.yaml]
pilot: {age: 60, reserve_min: 90}
""", encoding="utf-8")
    (folder / "study.yaml").write_text("extends: base/base.yaml\nstudy: mine\npilot: {age: 30}\n", encoding="utf-8")
    study = load_study(folder / "study.yaml")
    assert (study.name, study.pilot.age, study.pilot.reserve_min) == ("mine", 30, 90)
    assert len(study.listed) == 2
    assert len(study.hashes) == 4


DEMAND = """demand:
  - {to: KOMA, per_year: 20, adults: {1: 2, 2: 1}, purpose: sales}
  - {to: [KLBF, KOGA], per_year: 6, season: {summer: 1}, nights: 1, bags_lb: [0, 50, 200]}
"""


def test_generated_years_differ_by_replication_and_repeat_by_seed(folder):
    study = load(folder, DEMAND)
    assert study.listed is None
    assert study.trips(0).trips == load(folder, DEMAND).trips(0).trips
    assert study.trips(0).trips != study.trips(1).trips
    assert {t.departs_local[0].month for t in study.trips(0) if len(t.destinations) == 2} <= {6, 7, 8}
    assert study.trips(0).year == study.assumptions["trip.year"]


def test_generated_trips_do_not_depend_on_the_candidates(folder):
    one = load(folder, DEMAND)
    text = DEMAND + "seed: 1\nquestion: same\n"
    assert one.trips(3).trips == load(folder, text).trips(3).trips


def test_a_newer_airport_download_is_used(folder):
    (folder / "airports.csv").write_text(
        "ident,type,name,latitude_deg,longitude_deg,elevation_ft,continent,iso_country,iso_region,municipality,"
        "scheduled_service,gps_code,iata_code,local_code\n"
        "KGRI,medium_airport,Home,40.97,-98.31,1847,NA,US,US-NE,Grand Island,yes,KGRI,GRI,GRI\n"
        "KNEW,small_airport,New,41.3,-96.0,1100,NA,US,US-NE,Newtown,no,KNEW,,NEW\n", encoding="utf-8")
    (folder / "runways.csv").write_text(
        "airport_ident,length_ft,width_ft,surface,lighted,closed,le_ident,le_heading_degT,le_displaced_threshold_ft,"
        "he_ident,he_heading_degT,he_displaced_threshold_ft\n"
        "KGRI,7000,150,ASP,1,0,17,177,,35,357,\nKNEW,4000,75,CON,1,0,14,143,,32,323,\n", encoding="utf-8")
    (folder / "trips.csv").write_text("date,to\n2025-03-04,KNEW\n", encoding="utf-8")
    files = "airports_file: airports.csv\nrunways_file: runways.csv\n"
    assert load(folder, TRIPS + files).listed.places() == ("KGRI", "KNEW")


def test_a_logbook_in_a_study(folder):
    shutil.copy(demo_folder() / "trips" / "logbook.csv", folder / "logbook.csv")
    study = load(folder, """trips:
  file: logbook.csv
  rows: legs
  columns: {time: Out, people: On board, fuel_stop: Fuel only, purpose: Remarks}
""")
    assert study.listed.from_logbook
    assert any("only the trips that went" in n for n in study.notes)
