"""The ends of the range flown from file to file: clear outcomes, finite numbers, nothing of the machine's own words."""

from __future__ import annotations

import csv
import json
from copy import deepcopy

import pytest
import yaml
from hypothesis import HealthCheck, given
from hypothesis import settings as limits
from hypothesis import strategies as st
from robust_cases import AIRCRAFT, CARRIER, RETRACTABLE, TURBO, check_files, stray, write_study

from missionsim.base.errors import InputError, MissionsimError
from missionsim.report.publish import publish
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.coverage import not_covered
from missionsim.study.single_leg.plan import LegRequest, plan_leg

HEAD = "date,time,to,return,return_time,adults,bags_lb\n"
OMAHA = HEAD + "2025-03-04,,KOMA,,,2,20\n2025-07-08,,KOMA,,,2,20\n"
HIGH = {"EVER": {"latitude_deg": 39.5, "longitude_deg": -106.0, "elevation_ft": 20_000, "timezone": "America/Denver",
                 "runways": [{"ends": "9/27", "length_ft": 20_000}]}}
SHORT = {"SHRT": {"latitude_deg": 41.3, "longitude_deg": -98.0, "elevation_ft": 1_900,
                  "runways": [{"ends": "9/27", "length_ft": 300}]}}


def changed(**changes):
    return [{"aircraft": RETRACTABLE, "changes": changes}]


def flown(folder, trips, **more):
    """Fly and publish a study, hold its files to what they must be, and return outcomes and reasons of its trips."""
    study = load_study(write_study(folder, trips, **more))
    comparison = compare(study)
    publish(comparison, folder / "out")
    check_files(folder / "out")
    rows = list(csv.DictReader((folder / "out" / "trips.csv").read_text(encoding="utf-8").splitlines()))
    assert len(rows) == len(comparison.names) * sum(len(study.trips(r)) for r in range(comparison.replications))
    return comparison, rows


def structural(rows, name=None):
    """Return the deciding reasons of trips refused in any weather."""
    return [r["reason"] for r in rows if (name is None or r["candidate"] == name) and r["outcome"] == "refused"
            and r["structural"] == "yes"]


@pytest.mark.parametrize(("trips", "more", "reasons"), [
    (OMAHA, {"candidates": changed(tanks=[{"name": "wing", "usable_gal": 11, "arm_in": 48.5}])}, {"range"}),
    (HEAD + "2025-07-08,,EVER,2025-07-09,,2,20\n", {"airports": HIGH, "candidates": [RETRACTABLE]}, {"climb"}),
    (HEAD + "2025-07-08,,SHRT,,,2,20\n", {"airports": SHORT, "candidates": [RETRACTABLE]}, {"runway"}),
    (HEAD + "2025-07-08,,KOMA,,,20,5000\n", {}, {"seats"}),
    (OMAHA, {"airports": {"KOMA": {"minimum_altitude_ft": 30_000}}, "candidates": [CARRIER]}, {"climb"}),
], ids=["tanks below the reserve", "field above the ceiling", "300 ft of runway", "twenty people",
        "minimum altitude above the ceiling"])
def test_what_an_aircraft_cannot_do_is_refused_with_its_reason(tmp_path, trips, more, reasons):
    comparison, rows = flown(tmp_path, trips, **more)
    assert {r["outcome"] for r in rows} == {"refused"}
    assert {r["reason"] for r in rows if r["reason"] != "maintenance"} == reasons
    for result in comparison.results:
        assert result.measures["completed_share"]["mean"] == 0
        assert result.measures["cost_per_hour_usd"]["mean"] is None
        assert result.measures["flight_hours"]["mean"] == 0
        assert result.measures["net_cost_usd"]["mean"] > 0


def test_an_engine_past_its_time_between_overhauls_flies_and_is_overhauled_no_less_often(tmp_path):
    late = [{"aircraft": RETRACTABLE, "name": "late", "changes": {"engine.hours_since_overhaul_h": 3_900}},
            {"aircraft": RETRACTABLE, "name": "early", "changes": {"engine.hours_since_overhaul_h": 10}}]
    comparison, rows = flown(tmp_path, OMAHA, candidates=late, replications=4, years=3)
    share = {r.name: r.ownership["engine_overhaul_share"] for r in comparison.results}
    assert share["late"] >= share["early"]
    assert "completed" in {r["outcome"] for r in rows if r["candidate"] == "late"}


def test_trips_at_both_ends_of_a_leap_year_and_in_it(tmp_path):
    trips = HEAD + ("2024-01-01,00:10,KLNK,,,1,0\n2024-02-29,,KOMA,,,1,0\n"
                    "2024-12-31,21:00,KLNK,2025-01-02,12:00,1,0\n")
    _, rows = flown(tmp_path, trips, candidates=[TURBO], replications=2)
    assert {r["planned_local"][:10] for r in rows} == {"2024-01-01", "2024-02-29", "2024-12-31"}
    assert all(r["home_local"] >= r["departed_local"] >= "2024-01" for r in rows if r["outcome"] == "completed")


def test_one_aircraft_cannot_fly_overlapping_trips(tmp_path):
    same = "2025-05-01,08:00,KLNK,2025-05-05,12:00,1,0\n"
    _, rows = flown(tmp_path, HEAD + same * 3, candidates=[TURBO], replications=2)
    for replication in {r["replication"] for r in rows}:
        assert sum(r["outcome"] in {"completed", "delayed"} for r in rows if r["replication"] == replication) <= 1
    assert "booked" in {r["reason"] for r in rows}


def test_a_generated_year_may_have_no_trips(tmp_path):
    comparison, rows = flown(tmp_path, None, demand=[{"to": "KOMA", "per_year": 0.3}], replications=6)
    wanted = comparison.results[0].tally.column("trips_wanted")
    assert (wanted == 0).any()
    assert len(rows) == 2 * wanted.sum()
    share = comparison.results[0].measures["completed_share"]["mean"]
    assert share is None if not wanted.sum() else 0 <= share <= 1


def test_over_unknown_ground_it_says_so(tmp_path):
    comparison, _ = flown(tmp_path, "date,to,return\n2025-06-03,PAFA,2025-06-05\n", home="PANC", candidates=[TURBO])
    assert any(n.startswith("Terrain unknown: PAFA to PANC") for n in not_covered(comparison.prepared))
    assert "Terrain unknown" in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


def test_across_the_date_line(tmp_path):
    shemya = {"ISLE": {"latitude_deg": 52.71, "longitude_deg": 174.11, "elevation_ft": 95, "timezone": "Asia/Kamchatka",
                       "runways": [{"ends": "10/28", "length_ft": 9_990}]}}
    comparison, rows = flown(tmp_path, "date,to,return\n2025-06-03,PADK,2025-06-05\n", home="ISLE", airports=shemya,
                             candidates=[TURBO])
    distance = {r.distance_nm for lanes in comparison.prepared.lane_sets for r in lanes.routes}
    assert max(distance) < 450  # by haversine on a sphere of 3,440 nm about 350 nm, not three quarters of the globe
    assert len(rows) == 1


def test_a_named_place_without_weather_is_a_fault_of_that_place_alone(tmp_path):
    south = {"SOUT": {"latitude_deg": -33.9, "longitude_deg": 151.0, "elevation_ft": 20,
                      "runways": [{"ends": "9/27", "length_ft": 5_000}]}}
    with pytest.raises(MissionsimError) as caught:
        compare(load_study(write_study(tmp_path, "date,to\n2025-06-03,SOUT\n", airports=south)))
    lines = str(caught.value).splitlines()
    assert len(lines) == 1
    assert lines[0].endswith(":2: to: SOUT: no weather station within 120 nm; accepted: a place in reach of one, or a "
                             "TMY3 or EPW file for it under `weather_files`.")


def test_names_of_two_hundred_letters_and_of_formulas(tmp_path):
    bad = [{"aircraft": RETRACTABLE, "name": name} for name in ('=HYPERLINK("x")|,"', "</script><script>x")]
    comparison, rows = flown(tmp_path, OMAHA, study="n" * 200, question="q" * 2_000, candidates=bad)
    assert {r["candidate"].lstrip("'") for r in rows} == set(comparison.names)
    assert "<script>x" not in (tmp_path / "out" / "report.html").read_text(encoding="utf-8")


@pytest.mark.parametrize("wind", ["259/200", "079/200"])
def test_wind_faster_than_the_aircraft_is_a_no_not_a_fault(told, wind):
    ended = told("leg", "carrier_230", "KOMA", "KGRI", "--wind", wind, "--json")
    found = json.loads(ended.out)
    assert ended.code == 0
    assert found["go"] is False
    assert found["reasons"]
    assert not stray(told("leg", "carrier_230", "KOMA", "KGRI", "--wind", wind).out)


@pytest.mark.parametrize(("more", "trips"), [
    ({"prices": {"fuel_usd_per_gal": 50, "insurance_usd_per_year": 0, "hangar_usd_per_month": 0},
      "value_of_time_usd_per_h": 2_000, "plan_by": "cost"}, OMAHA),
    ({"pilot": {"rating": "visual", "night": False, "total_h": 40, "retractable_h": 0, "age": 100, "weight_lb": 400,
                "visual_ceiling_ft": 10_000, "visual_visibility_sm": 20, "max_leg_h": 0.5, "max_leg_alone_h": 0.5,
                "max_duty_h": 2, "max_flight_h_per_day": 1, "runway_margin": 4, "chance_visual_share": 0.0}}, OMAHA),
    ({"pilot": {"chance_missing_share": 1.0, "chance_both_below_share": 1.0, "reserve_min": 0}}, OMAHA),
    ({"years": 30}, OMAHA), ({"years": 3}, HEAD + "2025-07-08,,KOMA,,,20,5000\n"),
    ({}, "date,to\n2100-12-31,KOMA\n"), ({}, "date,to\n1950-01-01,KOMA\n"),
    ({}, HEAD + "2025-03-09,02:30,KAPA,2025-03-10,02:30,1,0\n2025-11-02,01:30,KAPA,,,1,0\n"),
    ({"candidates": [RETRACTABLE]}, "date,to\n2025-06-03,KOMA\n"),
    ({}, "date,to,return\n2025-06-03,PANC,2025-06-20\n"),
], ids=["dear", "timid", "bold", "thirty years", "years of nothing", "2100", "1950", "clocks change",
        "one of all", "far"])
@pytest.mark.slow
def test_extremes_are_flown_and_told_in_finite_numbers(tmp_path, more, trips):
    _, rows = flown(tmp_path, trips, replications=2 if "candidates" not in more else 1, **more)
    assert {r["outcome"] for r in rows} <= {"completed", "delayed", "broken_off", "refused"}


@pytest.mark.slow
def test_five_thousand_trips_are_flown(tmp_path):
    rows = "".join(f"2025-{i % 12 + 1:02}-{i % 28 + 1:02},{('KOMA', 'KLNK')[i % 2]}\n" for i in range(5_000))
    comparison = compare(load_study(write_study(tmp_path, "date,to\n" + rows, candidates=[CARRIER])))
    assert comparison.results[0].measures["trips_wanted"]["mean"] == 5_000


FACTORS = (0, 0.01, 0.3, 0.7, 0.9, 1.1, 1.3, 2, 5)


def figures(data, path=()):
    """Yield the path of every single value of an aircraft file."""
    for key, value in data.items() if isinstance(data, dict) else enumerate(data):
        if isinstance(value, dict | list):
            yield from figures(value, (*path, key))
        else:
            yield (*path, key)


def bent(data, where, factor):
    """Return an aircraft with one figure multiplied, turned round or not known."""
    data = deepcopy(data)
    places = list(figures(data))
    *outer, last = places[int(where * len(places))]
    inner = data
    for key in outer:
        inner = inner[key]
    value = inner[last]
    if isinstance(value, bool):
        inner[last] = not value
    elif isinstance(value, int | float):
        inner[last] = type(value)(value * factor)
    else:
        inner[last] = "unknown"
    return data


@pytest.mark.slow
@limits(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=max(15, limits().max_examples // 4))
@given(st.sampled_from(["retractable_260", "carrier_230", "boosted_six"]),
       st.lists(st.tuples(st.floats(0, 0.999), st.sampled_from(FACTORS)), min_size=1, max_size=2))
def test_any_aircraft_that_is_accepted_can_be_flown(tmp_path, name, changes):
    data = yaml.safe_load((AIRCRAFT / f"{name}.yaml").read_text(encoding="utf-8"))
    for where, factor in changes:
        data = bent(data, where, factor)
    (tmp_path / "bent.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    path = write_study(tmp_path, HEAD + "2025-03-04,,KOMA,,,2,20\n2025-07-08,,KAPA,,,1,0\n", candidates=["bent.yaml"])
    try:
        study = load_study(path)
    except InputError:
        return
    comparison = compare(study)
    assert comparison.results[0].measures["net_cost_usd"]["mean"] > 0
    assert 0 <= comparison.results[0].measures["completed_share"]["mean"] <= 1


def test_a_word_for_unknown_in_free_text_is_text(tmp_path):
    data = yaml.safe_load((AIRCRAFT / "retractable_260.yaml").read_text(encoding="utf-8"))
    data["identity"]["kind"] = data["notes"] = data["name"] = "unknown"
    (tmp_path / "plain.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    comparison = compare(load_study(write_study(tmp_path, "date,to\n2025-06-03,KOMA\n", candidates=["plain.yaml"])))
    assert comparison.names == ("unknown",)


def station_text(latitude_deg, longitude_deg):
    """Return a clear year of a station in the TMY3 layout, warm in January as in the south."""
    days = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    titles = ("Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),Pressure (mbar),Wdir (degrees),Wspd (m/s),"
              "Hvis (m),CeilHgt (m),PresWth (METAR code)")
    rows = [f'999999,"FAR SOUTH",XX,10.0,{latitude_deg},{longitude_deg},10', titles]
    rows += [f"{m + 1:02d}/{d + 1:02d}/1995,{h + 1:02d}:00,{20 + 5 * (m < 3)}.0,10.0,1013,180,3.0,30000,77777,0"
             for m in range(12) for d in range(days[m]) for h in range(24)]
    return "\n".join(rows)


def test_a_station_file_serves_the_places_and_ways_around_it_where_there_is_no_other(tmp_path):
    fields = {name: {"latitude_deg": lat, "longitude_deg": 151.0, "elevation_ft": 30, "fuel": True,
                     "runways": [{"ends": "18/36", "length_ft": 5_000, "lighted": True}]}
              for name, lat in (("SOUA", -33.9), ("SOUB", -32.9), ("SOUC", -20.0))}
    (tmp_path / "south.csv").write_text(station_text(-33.9, 151.0))
    south = {"home": "SOUA", "airports": fields, "weather_files": {"SOUA": "south.csv"}, "candidates": [TURBO]}
    comparison, rows = flown(tmp_path, "date,to\n2025-06-03,SOUB\n", **south)
    climate = comparison.prepared.sky.climate
    assert all(s.upper().startswith("FAR SOUTH") for s in climate.station)
    assert climate.station_distance_nm[climate.names.index("SOUB")] == pytest.approx(60.0, abs=0.5)  # one degree
    assert len(rows) == 1
    with pytest.raises(MissionsimError, match="SOUC: no weather station"):
        compare(load_study(write_study(tmp_path, "date,to\n2025-06-03,SOUC\n", **south)))


def test_figures_that_fit_no_aircraft_are_named_with_their_file(tmp_path):
    data = yaml.safe_load((AIRCRAFT / "boosted_six.yaml").read_text(encoding="utf-8"))
    data["book"]["climb_fpm"] *= 2
    (tmp_path / "bent.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    path = write_study(tmp_path, HEAD + "2025-03-04,,KOMA,,,2,20\n", candidates=["bent.yaml", "nowhere.yaml"])
    with pytest.raises(InputError) as refused:
        load_study(path)
    assert [("bent.yaml" in str(f), "book.climb_fpm" in str(f)) for f in refused.value.faults][:1] == [(True, True)]
    assert any("nowhere.yaml" in str(f) for f in refused.value.faults)
    with pytest.raises(InputError, match="cannot belong to one aircraft"):
        plan_leg(LegRequest(str(tmp_path / "bent.yaml"), "KGRI", "KOMA"))


@pytest.mark.parametrize("year", [-1, 0, 9999, 10_000])
def test_a_year_outside_the_calendar_is_a_fault(tmp_path, year):
    path = write_study(tmp_path, HEAD + "2025-03-04,,KOMA,,,2,20\n9999-12-30,,KOMA,,,2,20\n", year=year)
    with pytest.raises(InputError, match="year"):
        load_study(path)
