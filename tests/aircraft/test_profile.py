from __future__ import annotations

import pytest
from aircraft_cases import NAMES, demo, mapping, profile, tables
from pydantic import ValidationError

from missionsim.aircraft.figures import Range
from missionsim.aircraft.profile import Profile


def faults(**changes: object) -> dict[str, str]:
    with pytest.raises(ValidationError) as caught:
        profile(**changes)
    return {".".join(map(str, e["loc"])): e["msg"] for e in caught.value.errors()}


def test_plain_aircraft_is_good():
    assert profile().form == "fitted"
    assert profile().usable_gal == 50.0


@pytest.mark.parametrize(("changes", "place", "text"), [
    ({"book__cruise__0__fuel_flow_gph": 59.0}, "book.cruise.0.fuel_flow_gph", "is 59 at 135 hp"),
    ({"book__cruise__0__fuel_flow_gph": 110.0}, "book.cruise.0.fuel_flow_gph",
     "is 110 at 135 hp; accepted: 7.4 to 16.9 gal/h"),
    ({"book__cruise__0__tas_kt": 250.0}, "book.cruise.0.tas_kt", "is 250 on 135 hp"),
    ({"book__cruise__0__level_ft": 14_000.0}, "book.cruise.0.power_share", "what full throttle gives"),
    ({"book__takeoff__over_50ft_ft": 800.0}, "book.takeoff.over_50ft_ft", "more than ground_roll_ft"),
    ({"weights__empty_weight_lb": 2450.0}, "weights.empty_weight_lb", "is 2450"),
    ({"weights__useful_load_lb": 700.0}, "weights.useful_load_lb", "within 15 lb"),
    ({"weights__max_landing_lb": 2600.0}, "weights.max_landing_lb", "no more than max_takeoff_lb"),
    ({"weights__empty_weight_lb": "unknown"}, "weights.empty_weight_lb", "brochure_useful_load_lb"),
    ({"weights__empty_weight_lb": ...}, "weights.empty_weight_lb", "is missing"),
    ({"identity__seats": 5}, "identity.seats", "the stations have 4"),
    ({"stations__2__max_lb": ...}, "stations.2.max_lb", "placarded"),
    ({"envelope": [{"cg_in": 35.0, "weight_lb": 1500.0}]}, "envelope", "at least 3"),
    ({"weights__empty_arm_in": ...}, "weights.empty_arm_in", "since there is an envelope"),
    ({"engine__aspiration": "turbo"}, "engine.critical_altitude_ft", "is missing"),
    ({"engine__critical_altitude_ft": 12_000.0}, "engine.critical_altitude_ft", "only with turbo"),
    ({"cruise": {"mixture": "lean"}}, "cruise.mixture", "accepted: rich"),
    ({"book": ...}, "book", "handbook tables"),
    ({"weights__usefull_load_lb": 900.0}, "weights.usefull_load_lb", "Extra inputs"),
    ({"engine__hours_since_overhaul_h": "low"}, "engine.hours_since_overhaul_h", "unknown"),
    ({"engine__hours_since_overhaul_h": {"low": 9.0, "likely": 5.0, "high": 10.0}},
     "engine.hours_since_overhaul_h", "low no more than likely"),
    ({"engine__hours_since_overhaul_h": float("nan")}, "engine.hours_since_overhaul_h", "a number from 0"),
    ({"engine__hours_since_overhaul_h": True}, "engine.hours_since_overhaul_h", "is True"),
    ({"engine__overhaul_kind": "backyard"}, "engine.overhaul_kind", "field, shop, factory, unknown"),
    ({"panel": {"autopilot_works": "yes"}}, "panel.autopilot_works", "true, false or unknown"),
])
def test_a_fault_names_its_place_and_what_is_accepted(changes, place, text):
    found = faults(**changes)
    assert place in found
    assert text in found[place]


def test_faults_inside_and_between_sections_come_at_once():
    found = faults(book__cruise__0__fuel_flow_gph=45.0, identity__seats=6, weights__max_zero_fuel_lb=2700.0,
                   engine__rated_hp="many", prices={}, tanks=[], wings=2)
    assert {"identity.seats", "weights.max_zero_fuel_lb", "engine.rated_hp", "prices.asking_price_usd", "tanks",
            "wings"} <= set(found)


def test_types_of_inner_faults_survive_joining():
    with pytest.raises(ValidationError) as caught:
        profile(weights__usefull_load_lb=900.0, identity__seats=6)
    assert {e["type"] for e in caught.value.errors()} == {"extra_forbidden", "implausible"}


@pytest.mark.parametrize("data", [None, 3, "text", [], {}, {"engine": 5, "stations": 3, "envelope": {"a": 1}}])
def test_rubbish_is_a_validation_error_only(data):
    with pytest.raises(ValidationError):
        Profile.model_validate(data)


def test_envelope_that_crosses_itself_is_a_fault():
    points = [(35, 1500), (47, 2500), (35, 2500), (47, 1500)]
    found = faults(envelope=[{"cg_in": c, "weight_lb": w} for c, w in points])
    assert "crosses itself" in found["envelope"]


def test_tables_of_the_wrong_shape_are_faults():
    broken = tables()
    broken["cruise"]["tas_kt"] = [[105.0, 112.0], [110.0, 118.0]]
    broken["cruise"]["level_ft"] = [10_000.0, 2000.0]
    broken["takeoff"]["ground_roll_ft"][0][1] = 5.0
    found = faults(book=..., tables=broken)
    assert "accepted: 2 level_ft x 2 isa_deviation_c x 2 power_share" in found["tables.cruise.tas_kt"]
    assert "ascending" in found["tables.cruise.level_ft"]
    assert "is 5" in found["tables.takeoff.ground_roll_ft.0.1"]


def test_fuel_flow_of_a_table_is_held_against_the_engine():
    broken = tables()
    broken["cruise"]["fuel_flow_gph"][1][0][1] = 40.0
    assert "at 135 hp" in faults(tables=broken)["tables.cruise.fuel_flow_gph.1.0.1"]


def test_unknowns_are_the_ranges_and_the_unknown():
    p = profile(engine__hours_since_overhaul_h={"low": 100, "likely": 200, "high": 400}, engine__overhaul_year=2010,
                engine__overhaul_kind="field", panel={"autopilot_works": True})
    keys = p.unknowns()
    assert "engine.hours_since_overhaul_h" in keys
    assert not {"engine.overhaul_year", "engine.overhaul_kind", "panel.autopilot_works"} & set(keys)
    assert isinstance(p.figure("engine.hours_since_overhaul_h"), Range)


def test_drawn_values_are_put_in_and_the_rest_is_left():
    p = profile()
    drawn = p.changed({"engine.hours_since_overhaul_h": 812.5, "state.damage_history": "none"})
    assert drawn.engine.hours_since_overhaul_h == 812.5
    assert set(p.unknowns()) - set(drawn.unknowns()) == {"engine.hours_since_overhaul_h", "state.damage_history"}
    assert p.engine.hours_since_overhaul_h == "unknown"


def test_a_drawn_value_out_of_range_is_refused():
    with pytest.raises(ValidationError):
        profile().changed({"engine.hours_since_overhaul_h": -4.0})


def test_profile_is_frozen():
    with pytest.raises(ValidationError):
        profile().name = "other"


@pytest.mark.parametrize("name", NAMES)
def test_demo_aircraft_are_good_and_have_gaps(name):
    p = demo(name)
    assert p.unknowns()
    assert Profile.model_validate(p.model_dump()) == p


def test_demo_has_four_aircraft_one_of_them_with_tables():
    assert len(NAMES) >= 4
    assert [demo(n).form for n in NAMES].count("handbook") == 1


def test_mapping_is_not_changed_by_validation():
    data = mapping()
    Profile.model_validate(data)
    assert data == mapping()
