"""What the sliders add up, held against the years costed again."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.money.categories import Category
from missionsim.report.slider_years import slider_years
from missionsim.study.compare.recost import Change, Recosted


@pytest.fixture(scope="module")
def years(comparison):
    return slider_years(comparison)


def test_as_the_study_has_it_the_parts_are_the_net_cost(comparison, years):
    value = comparison.study.spec.value_of_time_usd_per_h
    for i, result in enumerate(comparison.results):
        way = next(w for w in years["ways"] if w["name"] == result.name)
        cost = np.array(way["usd"]) + value * np.array(way["hours"])
        assert cost == pytest.approx(comparison.cost_years(i), abs=1.0 + value)


@pytest.mark.parametrize("factor", [0.4, 1.5, 2.3])
def test_a_moved_fuel_price_is_the_cost_of_flying_at_that_price(comparison, years, factor):
    recosted = Recosted(comparison.prepared, [r.tally for r in comparison.results])
    for i, result in enumerate(comparison.results):
        way = next(w for w in years["ways"] if w["name"] == result.name)
        moved = np.array(way["usd"]) + (factor - 1.0) * np.array(way["fuel"])
        again = recosted.cost(i, Change(scale={Category.FUEL: factor}))
        assert moved - np.array(way["usd"]) == pytest.approx(again - recosted.cost(i), abs=3.0)
        assert np.all(np.array(way["fuel"]) > 0)


def test_not_owning_is_among_the_ways_and_moves_with_fares_alone(years):
    none = next(w for w in years["ways"] if w["name"] == "no aircraft")
    assert none["mark"] is None
    assert none["fuel"] == 0      # the same every year is said once
    assert np.all(np.array(none["travel"]) > 0)
