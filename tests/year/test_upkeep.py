from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from year_cases import LUCK, SOUND

from missionsim.base.words import Shop
from missionsim.year.upkeep import Health, annual_start_h

FAULTY = replace(SOUND, fault_mean_h=10.0)


def test_the_kth_fault_comes_when_the_hours_pass_the_kth_sum():
    health = Health(FAULTY, replace(LUCK, fault_sum=np.array([0.5, 1.6, 1.7])), 0)
    health.fly(4.9)
    assert not health.grounded
    health.fly(0.1)
    assert health.grounded
    health.visit(Shop.FAULT, 0.0, 1.0, 0, -1)
    health.fly(12.0)    # 17 h: two more, the last there is
    assert len(health.due_at_home()) == 2
    health.fly(1000.0)
    assert len(health.due_at_home()) == 2


@given(mean_h=st.floats(5, 200), better=st.floats(1.1, 5), parts=st.lists(st.floats(0.1, 4), min_size=1, max_size=60))
def test_a_more_reliable_aircraft_never_breaks_sooner_in_the_same_luck(mean_h, better, parts):
    luck = replace(LUCK, fault_sum=np.cumsum(np.linspace(0.2, 2.0, 60)))
    poor, good = (Health(replace(SOUND, fault_mean_h=m), luck, 0) for m in (mean_h, better * mean_h))
    for hours in parts:
        poor.fly(hours)
        good.fly(hours)
        assert len(good.due_at_home()) <= len(poor.due_at_home())


@given(cuts=st.lists(st.floats(0.01, 3), min_size=1, max_size=50))
def test_faults_depend_on_hours_not_on_how_they_are_cut(cuts):
    whole, pieces = Health(FAULTY, LUCK, 0), Health(FAULTY, LUCK, 0)
    whole.fly(float(np.sum(cuts)))
    for hours in cuts:
        pieces.fly(hours)
    if abs(pieces.flown_h % FAULTY.fault_mean_h) > 1e-6:
        assert len(whole.due_at_home()) == len(pieces.due_at_home())


def test_an_annual_changes_the_oil_and_counts_as_the_inspection():
    hired = replace(SOUND, oil_interval_h=40.0, inspection_interval_h=100.0, inspection_since_h=60.0)
    health = Health(hired, LUCK, 0)
    health.fly(41.0)    # one hour over
    assert [kind for kind, _ in health.due_at_home()] == [Shop.OIL_CHANGE, Shop.HUNDRED_HOUR]
    health.visit(Shop.ANNUAL, 0.0, 1.0, 0, -1)
    assert health.due_at_home() == []
    health.fly(40.0)
    assert [kind for kind, _ in health.due_at_home()] == [Shop.OIL_CHANGE]


def test_deferred_faults_wait_for_the_next_visit():
    health = Health(replace(FAULTY, deferrable_share=1.0, oil_interval_h=30.0), LUCK, 0)
    health.fly(25.0)
    assert not health.grounded
    assert health.due_at_home() == []
    assert health.deferred_at_annual() == 2
    health.fly(6.0)
    assert [kind for kind, _ in health.due_at_home()] == [Shop.OIL_CHANGE, Shop.FAULT, Shop.FAULT, Shop.FAULT]


def test_a_repair_is_the_median_stretched_by_its_own_draw():
    luck = replace(LUCK, repair_normal=np.array([1.0] * 60))
    health = Health(replace(FAULTY, repair_sigma=np.log(2.0)), luck, 0)
    health.fly(10.0)
    assert health.repair_h(away=False) == pytest.approx(2.0 * 48.0)
    assert health.repair_h(away=True) == pytest.approx(2.0 * 48.0 + 48.0)   # two days to find a mechanic


@pytest.mark.parametrize(("rank", "find_h"), [(0.0, 12.0), (0.25, 21.0), (0.5, 30.0), (0.75, 39.0), (1.0, 48.0)])
def test_a_mechanic_is_found_within_days_unless_the_field_can_mend_it(rank, find_h):
    upkeep = replace(FAULTY, repair_median_h=5.0, find_low_h=12.0, find_median_h=30.0, find_high_h=48.0)
    luck = replace(LUCK, find_rank=np.full(60, rank))
    slow, quick = Health(upkeep, luck, 0), Health(replace(upkeep, field_fix_h=6.0), luck, 0)
    slow.fly(10.0)
    quick.fly(10.0)
    assert slow.repair_h(away=True) == pytest.approx(5.0 + find_h)
    assert quick.repair_h(away=True) == 5.0


@pytest.mark.parametrize(("rank", "ends_rank", "hidden", "ends"), [
    (0.49, 0.0, True, False), (0.51, 0.0, False, True), (0.51, 0.4, False, False), (0.71, 0.0, False, False)])
def test_where_a_fault_shows(rank, ends_rank, hidden, ends):
    upkeep = replace(FAULTY, shown_before_share=0.5, shown_flying_share=0.2, ends_trip_share=1.0 / 3.0)
    health = Health(upkeep, replace(LUCK, shown_rank=np.full(60, rank), ends_rank=np.full(60, ends_rank)), 0)
    health.fly(10.0)
    assert (health.hidden, health.grounded, health.ends_trip) == (hidden, not hidden, ends)
    health.look_over()
    assert (health.hidden, health.grounded) == (False, True)


def test_hours_over_the_inspection_count_against_the_next_and_a_long_trip_is_not_begun_before_it():
    health = Health(replace(SOUND, inspection_interval_h=100.0), LUCK, 0)
    health.fly(95.0)
    assert health.due_at_home(5.0) == []
    assert [kind for kind, _ in health.due_at_home(5.1)] == [Shop.HUNDRED_HOUR]
    health.fly(11.0)    # 106 h: six of them on the way home
    health.visit(Shop.HUNDRED_HOUR, 0.0, 1.0, 0, -1)
    assert health.inspection_due_at_h == 200.0
    health.fly(90.0)    # 196 h
    health.visit(Shop.HUNDRED_HOUR, 0.0, 1.0, 0, -1)
    assert health.inspection_due_at_h == 296.0
    assert health.due_at_home(120.0) == []    # just inspected: nothing would be gained


@pytest.mark.parametrize(("away", "start_h"), [
    ([], 100.0), ([(50.0, 130.0)], 130.0), ([(110.0, 120.0), (160.0, 170.0)], 170.0),
    ([(110.0, 120.0), (150.0, 260.0)], 120.0),      # the last gap begins when it is too late
    ([(90.0, 400.0)], 100.0)])                      # no gap at all: it waits for the aircraft from the first hour on
def test_the_annual_is_booked_into_the_widest_gap(away, start_h):
    upkeep = replace(SOUND, annual_from_h=100.0, annual_due_h=200.0)
    assert annual_start_h(upkeep, away) == start_h
