from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.physics.geodesy import distance_course, haversine_nm
from missionsim.world.airports.table import AirportTable
from missionsim.world.ground.clearance import clearance
from missionsim.world.ground.routes import RouteEnd, RouteFinder, direct
from missionsim.world.ground.terrain import Terrain

RULES = ("instrument", "visual_day", "visual_night")


@pytest.fixture(scope="module")
def rules(assumptions):
    return {rule: clearance(rule, assumptions) for rule in RULES}


@pytest.fixture(scope="module")
def terrain():
    return Terrain.packaged()


@pytest.fixture(scope="module")
def place(assumptions):
    table = AirportTable.packaged(assumptions)

    def of(ident):
        found = table.find(ident)
        return RouteEnd(found.latitude_deg, found.longitude_deg, found.elevation_ft)

    return of


def plain(height=40, width=60, ground_ft=1000.0):
    """Return flat ground of 5-minute cells between 42 N and about 38.7 N, from 100 W eastward."""
    ground = np.full((height, width), ground_ft, dtype=np.float32)
    return Terrain(ground, np.zeros_like(ground), np.zeros(ground.shape, bool), 42.0, -100.0, 5 / 60)


def walled(gap_rows=None, wall_ft=13_000.0):
    """Return flat ground with a north-south wall in column 30, open in some rows."""
    terrain = plain()
    terrain.ground_ft[:, 30] = wall_ft
    if gap_rows is not None:
        terrain.ground_ft[gap_rows, 30] = 1000.0
    return terrain


WEST, EAST = RouteEnd(40.3, -99.5, 900.0), RouteEnd(40.3, -95.5, 950.0)


def route(terrain, start, goal, rule, highest_usable_ft, minimum_altitude_ft=None):
    """Return the shortest route that clears at the highest usable level, else the one that needs the lowest."""
    finder = RouteFinder(terrain, start, goal, rule, minimum_altitude_ft)
    return finder.within(highest_usable_ft) or finder.lowest()


@pytest.mark.parametrize(("rule", "level_ft"), [("visual_day", 2000), ("visual_night", 2000), ("instrument", 2000)])
def test_flat_ground_needs_the_margin_above_it(rules, rule, level_ft):
    found = route(plain(), WEST, EAST, rules[rule], 12_500)
    distance, course, arrival = distance_course(*WEST[:2], *EAST[:2])
    assert found.minimum_level_ft == level_ft
    assert found.via == ()
    assert found.distance_nm == found.direct_distance_nm == distance
    assert (found.course_deg, found.arrival_course_deg) == (course, arrival)
    assert found.known
    assert not found.mountainous
    assert (found.sample_terrain_ft == 1000).all()


@pytest.mark.parametrize(("rule", "level_ft"), [("visual_day", 3000), ("visual_night", 3000 + 0.35 * 400),
                                                ("instrument", 3000 + 0.35 * 400)])
def test_mountains_need_more_and_peaks_stand_above_samples(rules, rule, level_ft):
    flat = plain()
    rugged = replace(flat, relief_ft=np.full_like(flat.ground_ft, 400), mountain=np.ones_like(flat.mountain))
    found = route(rugged, WEST, EAST, rules[rule], 12_500)
    assert found.mountainous
    assert found.minimum_level_ft == pytest.approx(level_ft, abs=0.1)


def test_samples_are_the_middles_of_equal_parts(rules):
    found = direct(plain(), WEST, EAST, rules["instrument"])
    parts = found.sample_lat.size
    assert parts == int(np.ceil(found.distance_nm / 25))
    from_start = haversine_nm(*WEST[:2], found.sample_lat, found.sample_lon)
    assert from_start == pytest.approx((np.arange(parts) + 0.5) / parts * found.distance_nm, rel=4e-3)
    assert (np.diff(found.sample_course_deg) > 0).all()  # eastward courses grow along a great circle in the north
    assert found.course_deg < found.sample_course_deg[0] < found.sample_course_deg[-1] < found.arrival_course_deg


def test_ground_near_the_ends_is_climb_out_and_let_down(rules):
    terrain = plain()
    row, column = terrain.cell_of(*WEST[:2])
    terrain.ground_ft[row, column + 1] = 11_000.0
    assert direct(terrain, WEST, EAST, rules["visual_day"]).minimum_level_ft == 2000
    # The cell ends 8 nm out: within 5 nm of the first point that counts.
    assert direct(terrain, WEST, EAST, rules["instrument"]).minimum_level_ft == 12_000
    terrain = plain()
    terrain.ground_ft[row, column + 1], terrain.ground_ft[row, column + 5] = 11_000.0, 6_000.0
    assert direct(terrain, WEST, EAST, rules["visual_day"]).minimum_level_ft == 7000


def test_a_cruise_level_is_above_both_airports(rules):
    assert direct(plain(), WEST, RouteEnd(40.4, -99.2, 3100.0), rules["visual_day"]).minimum_level_ft == 4100


def test_a_wall_is_passed_through_its_gap(rules):
    rule = rules["visual_day"]
    terrain = walled(slice(8, 11))
    straight = direct(terrain, WEST, EAST, rule)
    assert straight.minimum_level_ft == 14_000
    found = route(terrain, WEST, EAST, rule, 12_500)
    assert found.minimum_level_ft == 2000
    gap = terrain.centre_of(9, 30)
    by_gap = sum(distance_course(*a, *b)[0] for a, b in ((WEST[:2], gap), (gap, EAST[:2])))
    assert straight.distance_nm < found.distance_nm < by_gap + 1.0
    assert found.distance_nm > by_gap - 6.0  # it may cut the corners of a gap 15 nm wide
    assert 1 <= len(found.via) <= 4


def test_a_wall_without_a_gap_is_too_high_and_says_by_how_much(rules):
    found = route(walled(), WEST, EAST, rules["visual_day"], 12_500)
    assert found.minimum_level_ft == 14_000
    assert found.via == ()


def test_a_gap_too_far_aside_is_no_way(rules):
    far = walled(slice(4, 8))  # some 72 nm aside: 1.27 times the way of 184 nm, far more of a shorter one
    assert len(RouteFinder(far, WEST, EAST, rules["visual_day"]).choices()) == 2
    near_ends = RouteEnd(40.3, -98.2, 900.0), RouteEnd(40.3, -96.9, 950.0)
    assert len(RouteFinder(far, *near_ends, rules["visual_day"]).choices()) == 1


def test_a_gap_narrower_than_the_corridor_is_closed(rules):
    one_cell = walled(slice(9, 10))  # 5 nm wide: room for 1 nm aside, none for 5 nm
    assert route(one_cell, WEST, EAST, rules["visual_day"], 12_500).minimum_level_ft == 2000
    assert route(one_cell, WEST, EAST, rules["instrument"], 12_500).minimum_level_ft == 14_000


def test_unknown_ground_is_never_sea_level(rules, terrain, place):
    terrain_with_hole = plain()
    terrain_with_hole.ground_ft[:, 40:] = np.nan
    for grid, a, b in ((terrain_with_hole, WEST, EAST), (terrain, place("PAFA"), place("PANC")),
                       (terrain, place("KSEA"), place("PAJN"))):
        found = route(grid, a, b, rules["instrument"], 12_500)
        assert not found.known
        assert np.isnan(found.sample_terrain_ft).any()
        given = route(grid, a, b, rules["instrument"], 12_500, minimum_altitude_ft=9_400)
        assert given.known
        assert given.minimum_level_ft == max(9_400, found.minimum_level_ft)


def test_a_minimum_altitude_of_the_users_counts_where_ground_is_known_too(rules):
    found = direct(plain(), WEST, EAST, rules["instrument"], minimum_altitude_ft=5_000)
    assert found.minimum_level_ft == 5_000


COLORADO = ["KASE", "KEGE", "KGUC", "KLXV", "KTEX", "KSBS", "KGWS", "KMTJ", "KRIL", "KGNB", "KANK", "KPSO"]


@pytest.mark.parametrize("ident", COLORADO)
def test_unboosted_aircraft_reach_the_mountains_by_day(rules, terrain, place, ident):
    # Common practice: singles without a turbocharger cross the Rockies at 11,500 to 13,500 ft along valleys and passes.
    found = route(terrain, place("KGRI"), place(ident), rules["visual_day"], 12_500)
    back = route(terrain, place(ident), place("KGRI"), rules["visual_day"], 13_500)
    assert found.minimum_level_ft <= 12_500
    assert back.minimum_level_ft <= 13_500
    assert max(found.distance_nm, back.distance_nm) <= 1.3 * found.direct_distance_nm


def test_the_straight_line_to_aspen_under_instrument_rules_is_as_high_as_the_airways_there(rules, terrain, place):
    # Common practice: airways across the Sawatch and Front ranges have minimum altitudes of about 15,000 to 17,000 ft.
    assert 15_000 <= direct(terrain, place("KBJC"), place("KASE"), rules["instrument"]).minimum_level_ft <= 17_500


def test_the_plains_are_low(rules, terrain, place):
    for rule in RULES:
        found = route(terrain, place("KGRI"), place("KOMA"), rules[rule], 12_500)
        assert 2_500 < found.minimum_level_ft < 3_500
        assert not found.mountainous


def test_choices_get_longer_and_lower_and_the_first_that_clears_is_flown(rules, terrain, place):
    finder = RouteFinder(terrain, place("KGRI"), place("KJAC"), rules["visual_day"])
    found = finder.choices()
    assert len(found) >= 3
    levels, lengths = [r.minimum_level_ft for r in found], [r.distance_nm for r in found]
    assert all(a > b for a, b in pairwise(levels))
    assert lengths[0] == found[0].direct_distance_nm
    assert max(lengths) <= 1.3 * found[0].direct_distance_nm
    assert finder.within(inf) is found[0]
    lower = finder.within(levels[1])    # at the highest legal level below, and no longer than the one as low
    assert lower.minimum_level_ft <= levels[1]
    assert lengths[0] < lower.distance_nm <= lengths[1]
    assert finder.within(3_000) is None
    assert finder.lowest() is found[-1]


@settings(max_examples=25)
@given(st.floats(35, 46), st.floats(-118, -105), st.floats(-3, 3), st.floats(-4, 4), st.sampled_from(RULES))
def test_a_bent_route_clears_the_ground_it_claims_to_clear(assumptions, lat, lon, north_deg, east_deg, rule_name):
    terrain, rule = Terrain.packaged(), clearance(rule_name, assumptions)
    ends = [(lat, lon), (lat + north_deg, lon + east_deg)]
    found = route(terrain, RouteEnd(*ends[0], 4000.0), RouteEnd(*ends[1], 4000.0), rule, 11_500)
    assert found.direct_distance_nm * 0.9999 <= found.distance_nm <= 1.3 * found.direct_distance_nm + 1e-6
    points = [ends[0], *found.via, ends[1]]
    for a, b in pairwise(points):
        lat, lon = np.linspace(a[0], b[0], 40), np.linspace(a[1], b[1], 40)
        if haversine_nm(*a, *b) > 60:
            continue  # straight lines in degrees leave the great circle on long legs
        far = np.min([haversine_nm(lat, lon, *end) for end in ends], axis=0) > rule.mountain_end_distance_nm + 1
        ground = terrain.highest_ft(lat, lon)[far]
        assert (ground + 1_000 <= found.minimum_level_ft + 1)[np.isfinite(ground)].all()


def test_nowhere_to_go(rules):
    found = route(plain(), WEST, WEST, rules["visual_day"], 12_500)
    assert found.distance_nm == 0
    assert found.minimum_level_ft == 1900
    assert np.isfinite(found.sample_lat).all()


def test_a_route_across_the_date_line(rules):
    found = direct(plain(), RouteEnd(52.0, 179.0, 50.0), RouteEnd(52.0, -179.0, 60.0), rules["visual_day"])
    assert not found.known
    assert found.distance_nm == pytest.approx(74.0, abs=1.0)
    assert (np.abs(found.sample_lon) > 178.9).all()
