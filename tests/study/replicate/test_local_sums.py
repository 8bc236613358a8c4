"""Local hours by hand, recent landings by the rule, and what local flying adds to a year."""

from __future__ import annotations

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.words import Outcome
from missionsim.study.compare.alternatives import NONE, OWN, RENT, SHARE
from missionsim.study.compare.compare import compare
from missionsim.study.compare.recost import Recosted
from missionsim.study.replicate.local_sums import LOCAL_MEASURES, local_sums
from missionsim.study.replicate.rented_year import rental_rate


def _flights(depart_h, purpose):
    n = len(depart_h)
    return {"replication": np.zeros(n, dtype=np.int64), "depart_h": np.array(depart_h), "block_h": np.full(n, 1.0),
            "flight_h": np.full(n, 0.8), "fuel_burn_gal": np.full(n, 9.0), "purpose": np.array(purpose, dtype=object)}


def _trips(departed_h, people=2):
    n = len(departed_h)
    return {"replication": np.zeros(n, dtype=np.int64), "departed_h": np.array(departed_h),
            "people": np.full(n, people), "outcome": np.array([str(Outcome.COMPLETED)] * n, dtype=object)}


def test_three_landings_in_ninety_days_by_hand():
    # Day 100: landings on days 20, 30 and 40 are within 90 days of it, the first one after day 10. On day 115 only two.
    flights = _flights([20 * 24.0, 30 * 24.0, 40 * 24.0], ["trip"] * 3)
    for day, missing in ((100.0, 0), (115.0, 1), (60.0, 0)):  # before the 90th day nobody knows
        assert local_sums(flights, _trips([day * 24.0]), np.array([0]), 3)[3] == [missing]
    assert local_sums(flights, _trips([115 * 24.0], people=1), np.array([0]), 3)[3] == [0]  # of passengers
    practised = _flights([20 * 24.0, 30 * 24.0, 40 * 24.0, 112 * 24.0], [*["trip"] * 3, "local"])
    assert local_sums(practised, _trips([115 * 24.0]), np.array([0]), 1)[3] == [0]
    hours, block, fuel, _ = local_sums(practised, _trips([115 * 24.0]), np.array([0]), 1)
    assert (hours[0], block[0], fuel[0]) == (0.8, 1.0, 9.0)
    assert len(LOCAL_MEASURES) == 4


@pytest.fixture(scope="module")
def found():
    return compare(small_study(trips=6, candidates=1, local_hours_per_year=12.0), 4)


def test_the_hours_asked_for_are_flown_and_stand_in_all_hours(found):
    part = found.results[0].tally
    assert part.column("local_hours") == pytest.approx(12.0)
    assert (part.column("flight_hours") > part.column("local_hours")).all()


def test_what_local_flying_adds_is_in_every_way_of_having_an_aircraft_and_in_no_other(found):
    kinds = {x.kind: x for x in found.alternatives.every}
    assert (kinds[OWN].local_usd > 0.0).all()
    assert kinds[SHARE].local_usd is kinds[OWN].local_usd or (kinds[SHARE].local_usd == kinds[OWN].local_usd).all()
    assert not kinds[NONE].local_usd.any()
    # Rented by the hour from first movement to stop: eight flights of an hour and a half, and their taxi.
    key, name = rental_rate(found.prepared.rental.flyers[0])
    hours = kinds[RENT].local_usd / found.study.assumptions[key][name]
    assert ((hours > 8 * 1.5) & (hours < 8 * 2.5)).all()


def test_without_local_flying_a_year_without_trips_has_no_hours(found):
    recosted = Recosted(found.prepared, [found.results[0].tally])
    records = recosted.tallies[0].owned.records
    less = recosted._without_local(0, records)
    assert less.flight_hours == pytest.approx(records.flight_hours - 12.0)
    assert (recosted.local_usd(0) < recosted.cost(0)).all()
