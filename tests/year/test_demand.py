from __future__ import annotations

import math
from datetime import date
from itertools import pairwise

import numpy as np
import pytest

from missionsim.year.demand import DemandLine, generate, season_weights
from missionsim.year.schedule import DAYS_AFTER_YEAR


def trips(lines, assumptions, seed=1, year=2025):
    rngs = [np.random.default_rng([seed, i]) for i in range(len(lines))]
    return generate(lines, "KGRI", year, assumptions, rngs)


def test_numbers_follow_the_yearly_frequency(assumptions):
    line = DemandLine(("KOMA",), 6.0)
    counts = np.array([len(trips([line], assumptions, seed)) for seed in range(400)])
    four_errors = 4 * math.sqrt(6.0 / counts.size)  # the variance of a Poisson number is its mean
    assert counts.mean() == pytest.approx(6.0, abs=four_errors)


def test_season_and_weekday_hold(assumptions):
    line = DemandLine(("KEGE",), 40.0, season_weights({"winter": 2, "spring": 1}, False), (4, 5), {2: 1.0, 3: 1.0})
    table = trips([line], assumptions)
    assert len(table) > 10
    assert {t.departs_local[0].month for t in table} <= {12, 1, 2, 3, 4, 5}
    assert {t.departs_local[0].weekday() for t in table} <= {4, 5}
    assert {t.nights for t in table} == {2, 3}


def test_a_stay_ends_while_flying_is_still_looked_at(assumptions):
    table = trips([DemandLine(("KEGE",), 60.0, nights={60: 1.0})], assumptions)
    home = [t.departs_local[-1].date() for t in table]
    assert max(home) == date(table.year + 1, 1, DAYS_AFTER_YEAR)
    assert min(t.nights for t in table) < 60 == max(t.nights for t in table)


def test_seasons_turn_round_south_of_the_equator():
    north, south = season_weights({"winter": 1}, False), season_weights({"winter": 1}, True)
    assert [m + 1 for m in range(12) if north[m]] == [1, 2, 12]
    assert [m + 1 for m in range(12) if south[m]] == [6, 7, 8]


def test_parties_bags_and_must_go_follow_their_shares(assumptions):
    line = DemandLine(("KOMA",), 150.0, nights={0: 1.0}, adults={1: 3.0, 2: 1.0}, bags_lb=(0.0, 60.0, 300.0),
                      must_go_share=0.25, weekdays=tuple(range(7)), optional_value_usd=50.0)
    table = [t for seed in range(20) for t in trips([line], assumptions, seed)]
    n = len(table)
    assert np.mean([t.adults == 2 for t in table]) == pytest.approx(0.25, abs=4 * math.sqrt(0.25 * 0.75 / n))
    assert np.mean([t.must_go for t in table]) == pytest.approx(0.25, abs=4 * math.sqrt(0.25 * 0.75 / n))
    # Mean and variance of a triangular distribution: (a+b+c)/3 and (a²+b²+c²-ab-ac-bc)/18.
    spread = math.sqrt((60**2 + 300**2 - 60 * 300) / 18)
    assert np.mean([t.bags_lb for t in table]) == pytest.approx(120.0, abs=4 * spread / math.sqrt(n))
    assert all((t.optional_value_usd is None) == t.must_go for t in table)


def test_a_further_line_changes_no_draw_of_the_first(assumptions):
    first = DemandLine(("KOMA",), 20.0)
    alone = trips([first], assumptions)
    both = trips([first, DemandLine(("KLNK",), 30.0)], assumptions)
    assert [t for t in both if t.destinations == ("KOMA",)] == list(alone)


def test_trips_of_one_person_keep_clear_of_each_other(assumptions):
    lines = [DemandLine(("KOMA",), 20.0, nights={1: 1.0}), DemandLine(("KEGE",), 8.0, nights={4: 1.0})]
    table = trips(lines, assumptions)
    spans = [(t.departs_local[0].date(), t.departs_local[-1].date()) for t in table]
    assert all(a[1] < b[0] for a, b in pairwise(spans))


def test_two_members_may_want_the_same_day(assumptions):
    lines = [DemandLine(("KOMA",), 150.0, member=m) for m in ("ann", "bob")]
    table = trips(lines, assumptions)
    days = [{t.departs_local[0].date() for t in table if t.member == m} for m in ("ann", "bob")]
    assert days[0] & days[1]


def test_never_is_no_trip_and_a_leap_year_has_its_day(assumptions):
    assert len(trips([DemandLine(("KOMA",), 0.0)], assumptions)) == 0
    every_day = DemandLine(("KOMA",), 900.0, tuple(float(m == 1) for m in range(12)), tuple(range(7)))
    days = {t.departs_local[0].date().isoformat() for t in trips([every_day], assumptions, year=2024)}
    assert "2024-02-29" in days


def test_several_places_and_own_hours(assumptions):
    line = DemandLine(("KLBF", "KOGA"), 12.0, leave_local_h=6.5, return_local_h=15.25)
    for trip in trips([line], assumptions):
        assert trip.stops == ("KGRI", "KLBF", "KOGA", "KGRI")
        assert f"{trip.departs_local[0]:%H:%M}" == "06:30"
        assert f"{trip.departs_local[-1]:%H:%M}" == "15:15"
