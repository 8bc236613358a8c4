"""A single leg: numbers a pilot believes, hand calculations, and reasons with their margins."""

from __future__ import annotations

import math
import re
from datetime import datetime

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wind_triangle import wind_triangle

from missionsim.base.errors import InputError
from missionsim.base.words import Reason
from missionsim.physics.geodesy import haversine_nm
from missionsim.report.leg import leg_headline, leg_json, leg_sheets
from missionsim.study.inputs.files import demo_folder
from missionsim.study.single_leg.air import LegAir
from missionsim.study.single_leg.plan import LegRequest, plan_leg, reasons_of_leg
from missionsim.world.airports.table import AirportTable, UnknownPlace

RETRACTABLE, TOURER, CARRIER, TURBO = "retractable_260", "fixed_180", "carrier_230", "boosted_six"
STILL = LegAir.still()
FLIGHT_KEYS = {"from", "to", "level_ft", "tas_kt", "groundspeed_kt", "time_h", "fuel_burn_gal", "fuel_required_gal",
               "takeoff_weight_lb", "landing_weight_lb", "cg_takeoff_in", "takeoff_required_ft",
               "takeoff_available_ft", "landing_required_ft", "landing_available_ft", "density_altitude_ft"}


def planned(aircraft: str, start: str, end: str, **more):
    return plan_leg(LegRequest(aircraft, start, end, **more))


def at_about(assumptions, distance_nm: float) -> list[str]:
    """Return public airports with a good runway at a distance from KGRI."""
    table = AirportTable.packaged(assumptions)
    home = table.find("KGRI")
    nm = haversine_nm(home.latitude_deg, home.longitude_deg, table.latitude_deg, table.longitude_deg)
    good = (np.abs(nm - distance_nm) < 4.0) & (table.longest_paved_ft > 5000.0) & table.public
    return [table.airport(int(i)).ident for i in np.flatnonzero(good)]


# What a pilot would believe. Bands are common practice for a 260 hp four-seater.

def test_a_still_air_leg_of_250_nm_takes_three_to_ten_percent_more_than_its_cruise(assumptions):
    places = at_about(assumptions, 250.0)
    assert len(places) >= 3
    for rules in ("instrument", "visual"):
        for place in places:
            leg = leg_json(planned(RETRACTABLE, "KGRI", place, air=STILL, rules=rules))
            flight = leg["flights"][0]
            assert 1.03 <= flight["time_h"] / (leg["distance_nm"] / flight["tas_kt"]) <= 1.10
            assert leg["distance_nm"] / flight["time_h"] < flight["tas_kt"]


def test_fuel_flow_rich_and_lean_and_fuel_over_flight_hours(tmp_path, assumptions):
    text = (demo_folder() / "aircraft" / f"{RETRACTABLE}.yaml").read_text(encoding="utf-8")
    lean_file = tmp_path / "lean.yaml"
    lean_file.write_text(text.replace("mixture: rich", "mixture: lean"), encoding="utf-8")
    place = at_about(assumptions, 250.0)[0]
    rich, lean = (leg_json(planned(name, "KGRI", place, air=STILL))["flights"][0]
                  for name in (RETRACTABLE, str(lean_file)))
    assert 13.0 <= rich["fuel_flow_gph"] <= 15.0
    assert 11.0 <= lean["fuel_flow_gph"] <= 12.0
    assert 13.0 <= rich["fuel_burn_gal"] / rich["time_h"] <= 15.5
    assert lean["tas_kt"] < rich["tas_kt"]


def test_january_winds_at_8000_ft_make_eastbound_faster_than_westbound():
    january = datetime(2025, 1, 15, 12)
    east, west = (planned(RETRACTABLE, "KGRI", place, when_local=january) for place in ("KDSM", "KAKO"))
    headwinds = []
    for plan in (east, west):
        k = plan.order[0]
        levels = plan.rows.exact.table.rows.levels_ft[k]
        known = np.isfinite(levels)
        headwinds.append(float(np.interp(8000.0, levels[known], plan.air.headwind_kt[k, 0, known])))
    assert 20.0 <= headwinds[1] - headwinds[0] <= 40.0


@pytest.mark.parametrize("aircraft", [RETRACTABLE, TOURER, CARRIER])
@pytest.mark.parametrize("place", ["KEGE", "KGUC", "KLXV"])
def test_unboosted_aircraft_cross_to_the_colorado_mountains_and_back_by_day(aircraft, place):
    for start, end in (("KGRI", place), (place, "KGRI")):
        plan = planned(aircraft, start, end, when_local=datetime(2025, 3, 12, 10))
        assert Reason.TERRAIN not in {why.reason for why in reasons_of_leg(plan)}
        assert plan.go, [why.text for why in reasons_of_leg(plan)]


# The high dirt strip 80V, Medicine Bow, Wyoming, two hunters with their bags in the load carrier, bound for home.
# Printed take-off table of that aircraft, distance over 50 ft, at 2,200 and 2,650 lb, 6,000 and 8,000 ft:
OVER_50FT = {  # (weight_lb, level_ft): at 0, 15, 30 °C
    (2200, 6000): (1030, 1170, 1330), (2200, 8000): (1240, 1420, 1620),
    (2650, 6000): (1580, 1820, 2100), (2650, 8000): (1940, 2260, 2650)}
DIRT, MARGIN, THERE_FT = 1.15, 1.5, 3170.0


def by_hand_ft(weight_lb: float, level_ft: float, temperature_c: float) -> float:
    """Return the distance over 50 ft by straight lines between the printed figures, one quantity after the other."""
    def of_temperature(row):
        low, share = (0, temperature_c / 15.0) if temperature_c < 15.0 else (1, (temperature_c - 15.0) / 15.0)
        return row[low] + share * (row[low + 1] - row[low])

    def of_level(weight):
        low, high = of_temperature(OVER_50FT[weight, 6000]), of_temperature(OVER_50FT[weight, 8000])
        return low + (level_ft - 6000.0) / 2000.0 * (high - low)

    light, heavy = of_level(2200), of_level(2650)
    return light + (weight_lb - 2200.0) / 450.0 * (heavy - light)


@pytest.mark.parametrize(("hour", "minute", "warm", "goes"), [(14, 0, (24.0, 31.0), False), (6, 30, (9.0, 17.0), True)])
def test_a_mountain_strip_in_july_fails_in_the_afternoon_and_goes_in_the_morning(hour, minute, warm, goes):
    plan = planned(CARRIER, "80V", "KGRI", people=2, bags_lb=140.0, when_local=datetime(2025, 7, 18, hour, minute))
    k, check = plan.order[0], plan.rows.takeoff
    level_ft, temperature_c = float(check.pressure_altitude_ft[k]), float(check.temperature_c[k])
    weight_lb = float(plan.rows.exact.takeoff_lb[k])
    # 1,815 lb empty, 195 + 190 lb of people, 140 lb of bags, 30 lb that always fly along, and fuel at lift-off.
    assert weight_lb == pytest.approx(1815 + 195 + 190 + 140 + 30 + 213, abs=8.0)
    assert 6646.0 - 450.0 < level_ft < 6646.0 + 50.0
    assert warm[0] < temperature_c < warm[1]
    needed_ft = by_hand_ft(weight_lb, level_ft, temperature_c) * DIRT * MARGIN
    assert float(check.required_ft[k]) == pytest.approx(needed_ft, rel=0.002)
    assert plan.go is goes
    assert (needed_ft <= THERE_FT) is goes
    if not goes:
        why = next(why for why in reasons_of_leg(plan) if why.reason is Reason.RUNWAY)
        assert why.margin == pytest.approx(needed_ft - THERE_FT, abs=8.0)
        assert why.unit == "ft"
        assert "short for take-off at 80V" in why.text


def test_a_strip_short_of_the_own_margin_by_less_than_the_tolerance_goes_and_says_so():
    plan = planned(CARRIER, "80V", "KGRI", people=2, bags_lb=140.0, when_local=datetime(2025, 7, 18, 8, 30))
    k, check = plan.order[0], plan.rows.takeoff
    needed_ft = by_hand_ft(float(plan.rows.exact.takeoff_lb[k]), float(check.pressure_altitude_ft[k]),
                           float(check.temperature_c[k])) * DIRT * MARGIN
    assert 0.97 * needed_ft < THERE_FT < needed_ft
    assert plan.go
    told = [line for line in leg_headline(plan) if "marginal on an own rule" in line]
    assert told == [f"  marginal on an own rule: take-off at 80V needs {float(check.required_ft[k]):,.0f} ft with the "
                    "whole margin, has 3,170"]


# Arithmetic that can be followed from the output alone.

def test_the_plan_can_be_followed_by_hand():
    leg = leg_json(planned(RETRACTABLE, "KGRI", "KDEN", people=2, bags_lb=40.0, air=LegAir((300.0, 25.0), None, 10.0)))
    flight = leg["flights"][0]
    assert set(leg) >= {"from", "to", "distance_nm", "course_deg", "go", "reasons", "flights"}
    assert set(flight) >= FLIGHT_KEYS
    assert leg["people_lb"] == [195.0, 190.0]
    empty_lb = 1905.0
    assert leg["zero_fuel_weight_lb"] == pytest.approx(empty_lb + 195 + 190 + 40 + 30, abs=0.1)
    at_start = flight["fuel_required_gal"] - flight["taxi_gal"]
    assert flight["takeoff_weight_lb"] == pytest.approx(leg["zero_fuel_weight_lb"] + 6.0 * at_start, abs=0.2)
    in_flight = flight["fuel_burn_gal"] - flight["taxi_gal"]
    assert flight["landing_weight_lb"] == pytest.approx(flight["takeoff_weight_lb"] - 6.0 * in_flight, abs=0.2)
    assert flight["fuel_required_gal"] == pytest.approx(flight["fuel_burn_gal"] + flight["reserve_gal"], abs=0.01)
    assert flight["reserve_gal"] == pytest.approx(1.0 * flight["fuel_flow_gph"], abs=0.01)
    best = next(level for level in flight["levels"] if level["chosen"])
    assert best["isa_deviation_c"] == pytest.approx(10.0, abs=0.1)
    others = [level["time_h"] for level in flight["levels"] if not level["blocked"]]
    assert best["time_h"] == min(others)


@pytest.mark.parametrize(("from_deg", "kt"), [(0.0, 0.0), (259.0, 30.0), (79.0, 30.0), (350.0, 40.0), (180.0, 20.0)])
def test_groundspeed_is_the_wind_triangle(from_deg, kt):
    leg = leg_json(planned(RETRACTABLE, "KGRI", "KDEN", air=LegAir((from_deg, kt), (0.0, 0.0), 0.0)))
    flight = leg["flights"][0]
    middle_deg = leg["course_deg"] - 1.9  # the great circle bends westwards; half way it is some two degrees off
    expected = wind_triangle(middle_deg, flight["tas_kt"], from_deg, kt)
    assert flight["groundspeed_kt"] == pytest.approx(float(expected.groundspeed_kt), abs=0.6)


def test_standard_air_at_the_fields_is_standard():
    flight = leg_json(planned(RETRACTABLE, "KGRI", "KDEN", air=STILL))["flights"][0]
    assert flight["density_altitude_ft"] == pytest.approx(1847.0, abs=1.0)
    hot = leg_json(planned(RETRACTABLE, "KGRI", "KDEN", air=LegAir(None, None, 20.0)))["flights"][0]
    assert hot["density_altitude_ft"] == pytest.approx(1847.0 + 20 * 118, abs=150.0)
    assert hot["takeoff_required_ft"] > flight["takeoff_required_ft"]


def test_a_head_wind_on_the_runway_shortens_the_take_off():
    calm, windy = (leg_json(planned(RETRACTABLE, "KGRI", "KDEN", air=LegAir((0.0, 0.0), wind, 0.0)))["flights"][0]
                   for wind in (None, (180.0, 15.0)))
    assert windy["takeoff_runway"] != "35"
    assert windy["takeoff_required_ft"] < 0.9 * calm["takeoff_required_ft"]


# Reasons.

def test_an_overload_is_told_in_pounds():
    plan = planned(RETRACTABLE, "KGRI", "KOMA", people=(250.0, 250.0, 240.0, 230.0), bags_lb=100.0, air=STILL)
    why = next(why for why in reasons_of_leg(plan) if why.reason is Reason.PAYLOAD)  # of the level that would be flown
    flight = leg_json(plan)["flights"][0]
    over_lb = flight["takeoff_weight_lb"] - 2960.0
    assert why.margin == pytest.approx(over_lb, abs=0.2)
    assert why.text.startswith(f"payload: {math.ceil(over_lb)} lb over")


def test_bags_beyond_the_bag_places_are_told_in_pounds():
    plan = planned(RETRACTABLE, "KGRI", "KOMA", people=4, bags_lb=250.0, air=STILL)
    over = [why for why in reasons_of_leg(plan) if "of bags" in why.text]
    assert len(over) == 1
    assert over[0].margin == pytest.approx(250.0 + 30.0 - 165.0)
    assert plan.judged.most_bags_lb(0) == pytest.approx(165.0)


@pytest.mark.parametrize("warmer_c", [8.0, 11.0, 13.0, 15.0, 17.0])
def test_what_a_climb_is_short_of_is_what_is_left_of_the_numbers_beside_it(warmer_c):
    plan = planned(TOURER, "KGRI", "KGUC", people=3, bags_lb=100.0, when_local=datetime(2025, 7, 18, 14),
                   air=LegAir(None, None, warmer_c))
    why = next(why for why in reasons_of_leg(plan) if why.reason is Reason.CLIMB)
    short, level, has, least = (int(n.replace(",", "")) for n in re.findall(r"[\d,]*\d", why.words))
    assert short == least - has == why.margin
    assert least == 400        # over the mountains
    rows = [row for sheet in leg_sheets(plan) if sheet.title.endswith("levels") for row in sheet.rows]
    assert str(has) in [row[5] for row in rows if row[0] == f"{level:,}"]


@pytest.mark.parametrize("hour", [14, 15, 16])
def test_what_a_runway_is_short_of_is_what_is_left_of_the_numbers_beside_it(hour):
    plan = planned(CARRIER, "80V", "KGRI", people=2, bags_lb=140.0, when_local=datetime(2025, 7, 18, hour))
    why = next(why for why in reasons_of_leg(plan) if why.reason is Reason.RUNWAY)
    need, has = (int(n.replace(",", "")) for n in re.findall(r"(?:needs|has) ([\d,]+\d)", why.words))
    assert why.words.startswith(f"{need - has:,} ft short for take-off")
    assert why.margin == need - has
    assert leg_json(plan)["flights"][0]["takeoff_required_ft"] == need


def test_people_without_seats_are_counted():
    why = {why.reason: why for why in reasons_of_leg(planned(RETRACTABLE, "KGRI", "KOMA", people=5, air=STILL))}
    assert why[Reason.SEATS].margin == 1.0


def test_a_surface_the_owner_does_not_use_is_named():
    texts = [why.text for why in reasons_of_leg(planned(RETRACTABLE, "KGRI", "9V2"))]
    assert any(text.startswith("surface: grass at 9V2") for text in texts)


def test_crosswind_beyond_the_limit_is_told_in_knots():
    plan = planned(RETRACTABLE, "KGRI", "9V2", air=LegAir((0.0, 0.0), (50.0, 45.0), 0.0))
    why = [why for why in reasons_of_leg(plan) if why.reason is Reason.WIND]
    assert why
    assert all(w.unit == "kt" and w.margin > 0.0 for w in why)


def test_a_pilot_who_does_not_fly_by_night_is_told_so(tmp_path):
    study = tmp_path / "study.yaml"
    demo = (demo_folder() / "studies" / "buyer.yaml").read_text(encoding="utf-8")
    folder = demo_folder().as_posix()
    study.write_text(demo.replace("../", f"{folder}/").replace("night: true", "night: false"), encoding="utf-8")
    late = planned("Boosted six-seater", "KGRI", "KOMA", when_local=datetime(2025, 1, 10, 17, 30), study=str(study))
    noon = planned("Boosted six-seater", "KGRI", "KOMA", when_local=datetime(2025, 1, 10, 12, 0), study=str(study))
    assert [why.reason for why in reasons_of_leg(late)] == [Reason.DAYLIGHT]
    assert noon.go


def test_a_long_leg_is_flown_with_stops_and_each_flight_starts_where_the_last_ended():
    leg = leg_json(planned(CARRIER, "KGRI", "KBZN", people=3))
    assert len(leg["flights"]) > 1
    assert leg["flights"][0]["from"] == "KGRI"
    assert leg["flights"][-1]["to"] == "KBZN"
    for before, after in zip(leg["flights"], leg["flights"][1:], strict=False):
        assert before["to"] == after["from"]


def test_a_very_short_hop_is_flown_with_a_steeper_descent():
    leg = leg_json(planned(RETRACTABLE, "KGRI", "KAUH"))
    assert leg["go"]
    assert 0.1 < leg["flights"][0]["time_h"] < 0.25


def test_unknown_aircraft_and_places_are_one_line_with_a_near_match():
    with pytest.raises(InputError, match=r"no aircraft 'retractible_26' is known.*Did you mean 'retractable_260'"):
        planned("retractible_26", "KGRI", "KOMA")
    with pytest.raises(UnknownPlace, match="Did you mean 'KGRI'"):
        planned(RETRACTABLE, "KGRl", "KOMA")
    with pytest.raises(InputError, match="KGRI is where the leg starts"):
        planned(RETRACTABLE, "KGRI", "GRI")


def test_everything_is_shown_for_a_leg_that_goes_and_one_that_does_not():
    for people in (1, 5):
        plan = planned(RETRACTABLE, "KGRI", "KOMA", people=people)
        assert ("GOES" if people == 1 else "DOES NOT GO") in " ".join(leg_headline(plan))
        titles = [sheet.title for sheet in leg_sheets(plan)]
        for part in ("levels", "fuel", "weight and balance", "runways"):
            assert any(title.endswith(part) for title in titles)


# What must always hold.

@settings(max_examples=6)
@given(st.integers(0, 180), st.sampled_from([RETRACTABLE, CARRIER]))
def test_more_bags_never_make_a_leg_shorter_or_lighter(extra_lb, aircraft):
    light, heavy = (leg_json(planned(aircraft, "KGRI", "KOMA", bags_lb=lb, air=STILL))["flights"][0]
                    for lb in (0.0, float(extra_lb)))
    if light["level_ft"] == heavy["level_ft"]:
        assert heavy["time_h"] >= light["time_h"] - 1e-4
        assert heavy["takeoff_weight_lb"] >= light["takeoff_weight_lb"]


@settings(max_examples=6)
@given(st.integers(0, 35))
def test_more_headwind_never_arrives_sooner_at_a_level(kt):
    calm, windy = (leg_json(planned(RETRACTABLE, "KOMA", "KGRI", air=LegAir((260.0, w), (0.0, 0.0), 0.0)))["flights"][0]
                   for w in (0.0, float(kt)))
    times = ({level["level_ft"]: level["time_h"] for level in flight["levels"]} for flight in (calm, windy))
    still, slow = times
    assert all(slow[level] >= hours - 1e-4 for level, hours in still.items() if hours and slow[level])


def test_gear_stays_behind_when_the_load_does_not_fit_by_a_little():
    # The heaviest bags with which it goes as asked, to the pound; 15 lb of the 30 lb that fly along may stay behind.
    def goes(bags_lb):
        return planned(TOURER, "KGRI", "KLNK", people=4, bags_lb=bags_lb)

    low, high = 0.0, 400.0
    assert not goes(low).gave_up
    while high - low > 1.0:
        middle = 0.5 * (low + high)
        leg = goes(middle)
        low, high = (middle, high) if leg.go and not leg.gave_up else (low, middle)
    lighter = goes(low + 10.0)
    assert lighter.go
    assert lighter.gave_up == "15 lb of gear left behind"
    assert lighter.bags_lb == pytest.approx(low + 10.0 + 30.0 - 15.0)
    assert any("adapted to the load: 15 lb" in line for line in leg_headline(lighter))
    assert "not all of the load fits: 15 lb of gear left behind" in leg_json(lighter)["notes"]


def test_a_short_leg_is_flown_twice_when_the_load_does_not_fit():
    one, heavy = (planned(TOURER, "KGRI", "KEAR", people=people, bags_lb=bags_lb, air=STILL)
                  for people, bags_lb in ((4, 0.0), (4, 200.0)))
    assert (one.gave_up, heavy.go) == ("", True)
    # Places 1 and 3 go first, place 2 follows; bags make both runs alike: half of five people's weight and of the bags.
    told, hours = heavy.gave_up.split(": ")
    assert told == "15 lb of gear left behind, two runs, 1 of 4 with the second"
    each_lb = float(heavy.people_lb.sum()) + heavy.bags_lb - 15.0
    person_lb = one.people_lb[0]
    assert each_lb == pytest.approx((person_lb.sum() + person_lb[0] + 200.0) / 2.0)
    # By hand: two of its flights, 35 nm back at some 150 kt with four minutes of climb and 18 of taxi, two stops of 45.
    block_h = 2.0 * leg_json(heavy)["block_h"] + 1.5
    assert block_h + 0.5 <= float(hours.split(" h")[0]) <= block_h + 0.75
    far = planned(TOURER, "KGRI", "KLNK", people=4, bags_lb=200.0)
    assert far.distance_nm > 50.0
    assert not far.go
