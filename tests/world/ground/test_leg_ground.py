"""The quick answers about the ground below a leg are those of looking at every place of it."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

from missionsim.world.ground.clearance import clearance
from missionsim.world.ground.leg_ground import (
    Ends,
    GreatCircle,
    LegsFrom,
    highest_required_ft,
    required_ft,
)
from missionsim.world.ground.routes import RouteEnd, RouteFinder
from missionsim.world.ground.terrain import Terrain


def drawn_legs(count):
    """Return pairs of places in and around the western mountains, a few beyond the map."""
    random = np.random.default_rng(11)
    return [((random.uniform(33, 51), random.uniform(-124, -100)), (random.uniform(33, 51), random.uniform(-124, -100)))
            for _ in range(count)]


@pytest.mark.parametrize("rule_name", ["instrument", "visual_day", "visual_night"])
@pytest.mark.parametrize("wider", [1.0, 2.7])
def test_a_leg_is_clear_where_every_counted_place_is(assumptions, rule_name, wider):
    terrain, rule = Terrain.packaged(), clearance(rule_name, assumptions)
    rule = replace(rule, half_width_nm=wider * rule.half_width_nm,
                   mountain_half_width_nm=wider * rule.mountain_half_width_nm)
    verdicts = set()
    for a, b in drawn_legs(40):
        ends = Ends.of(terrain, [a, b], rule)
        leg = GreatCircle.between(a, b)
        lat, lon = leg.at(leg.fractions(rule.step_nm))
        counted = ends.counted(lat, lon)
        required = required_ft(terrain, lat, lon, rule)[counted]
        highest = float(np.nanmax(required, initial=-inf)) if np.isfinite(required).any() else -inf
        assert highest_required_ft(terrain, lat, lon, ends, rule) == highest
        for level_ft in (6500.0, 12_000.0, highest, highest - 1.0, 20_000.0):
            clear = bool((required <= level_ft).all())
            assert LegsFrom(terrain, [a, b], rule, level_ft).clear(0, [1]) == [clear]
            verdicts.add(clear)
    assert verdicts == {True, False}


def test_ground_counts_as_far_aside_as_a_study_may_ask(assumptions):
    """Flat ground at 1,000 ft and a wall of 9,000 ft with a gap of 60 nm: too narrow for 32 nm to either side."""
    ground = np.full((60, 60), 1000.0, dtype=np.float32)
    ground[:, 30] = 9000.0
    ground[24:36, 30] = 1000.0
    terrain = Terrain(ground, np.zeros_like(ground), np.zeros(ground.shape, bool), 42.0, -100.0, 5 / 60)
    west, east = RouteEnd(39.0, -99.8, 900.0), RouteEnd(40.2, -95.2, 900.0)
    found = {}
    for half_width_nm in (20.0, 32.0):
        rule = replace(clearance("instrument", assumptions), half_width_nm=half_width_nm, end_distance_nm=0.0,
                       longest_ratio=2.0)
        finder = RouteFinder(terrain, west, east, rule)
        found[half_width_nm] = (finder.within(8500.0) or finder.lowest()).minimum_level_ft
    assert found == {20.0: 2000.0, 32.0: 10_000.0}


def test_legs_looked_at_together_are_judged_as_each_by_itself(assumptions):
    terrain, rule = Terrain.packaged(), clearance("visual_day", assumptions)
    points = [point for leg in drawn_legs(12) for point in leg]
    verdicts = set()
    for level_ft in (9500.0, 13_500.0, 17_500.0):
        legs = LegsFrom(terrain, points, rule, level_ft)
        stops = list(range(1, len(points)))
        together = legs.clear(0, stops)
        assert together == [legs.clear(0, [stop])[0] for stop in stops]
        verdicts.update(together)
    assert verdicts == {True, False}
