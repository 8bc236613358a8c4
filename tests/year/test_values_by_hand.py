"""Duty, rest and nights of a year worked by hand where a small slip would go unnoticed."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from year_cases import all_go, schedule_of, year

from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Outcome
from missionsim.year.demand import DemandLine, generate


@pytest.mark.parametrize(("flight_h", "nights"), [(6.9, 0), (7.1, 1), (13.9, 1), (14.1, 2)])
def test_a_leg_longer_than_a_days_flying_costs_a_night_for_each_day_begun_but_the_first(flight_h: float,
                                                                                       nights: int) -> None:
    out_and_back = schedule_of([(8.0, 0, 1), (100.0, 1, 0)])
    decisions = all_go(out_and_back)
    decisions.flight_h[0], decisions.block_h[0] = flight_h, flight_h + 0.5
    (end,) = year(out_and_back, decisions).ends
    assert end.nights_forced == nights


def test_a_night_of_rest_starts_a_new_day_of_flying() -> None:
    # Five hours out, the night at rest; then three and three are a day of six of the seven allowed.
    three = schedule_of([(8.0, 0, 1), (32.0, 1, 2), (37.0, 2, 0)])
    decisions = all_go(three)
    for leg, hours in enumerate((5.0, 3.0, 3.0)):
        decisions.flight_h[leg], decisions.block_h[leg] = hours, hours + 0.25
    log = year(three, decisions)
    assert log.ends[0].outcome is Outcome.COMPLETED
    assert [leg.depart_h for leg in log.legs] == [8.0, 32.0, 37.0]


def test_days_kept_clear_between_trips_stay_clear(assumptions: Assumptions) -> None:
    kept = assumptions.replaced({"trip.clear_days_between": 3})
    line = DemandLine(("KOMA",), 14.0, weekdays=tuple(range(7)))
    for seed in range(20):
        days = sorted(t.departs_local[0].date() for t in generate([line], "KGRI", 2025, kept,
                                                                  [np.random.default_rng([seed, 0])]))
        assert all((b - a).days > 3 for a, b in pairwise(days))
