"""Rules of flight as facts: 14 CFR parts 61 and 91, paragraph beside each check."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.accepted import numbers
from missionsim.base.assumptions import packaged_assumptions
from missionsim.flight.levels import choose_levels_ft, legal_levels_ft
from missionsim.flight.minima import alternate_minimum
from missionsim.flight.rules import (
    crew_oxygen_h,
    highest_with_passengers_ft,
    inspection_due,
    legal_reserve_min,
    next_inspection_h,
    oxygen_allows,
    passengers_allow,
)

pytestmark = pytest.mark.published
A = packaged_assumptions()


# Source: 14 CFR 91.151(a) and 91.167(a)(3).
@pytest.mark.parametrize(("instrument", "night", "minutes"), [(False, False, 30.0), (False, True, 45.0),
                                                              (True, False, 45.0), (True, True, 45.0)])
def test_reserve_in_minutes_at_normal_cruise(instrument, night, minutes):
    assert legal_reserve_min(A, instrument, night) == minutes


# Source: 14 CFR 91.167(b)(2) and 91.169(b)(2): 2,000 ft and 3 statute miles, with an instrument approach.
def test_when_an_alternate_is_required():
    assert A["flight.alternate_unless"] == [2000, 3.0]
    ranges = A.entry("flight.alternate_unless").accepted.ranges
    assert [limit.low for limit in numbers([2000, 3.0], ranges)] == [2000, 3]


# Source: 14 CFR 91.169(c)(1): precision 600 ft and 2 sm, non-precision 800 ft and 2 sm.
def test_what_a_place_needs_to_be_an_alternate():
    ceiling_ft, visibility_sm = alternate_minimum(np.array([True, False]), np.array([True, True]), A)
    assert ceiling_ft.tolist() == [600.0, 800.0]
    assert visibility_sm.tolist() == [2.0, 2.0]


# Source: 14 CFR 91.211(a): cabin pressure altitude of an unpressurised cabin.
@pytest.mark.parametrize(("cabin_ft", "hours", "crew_h"), [
    (12_500.0, 3.0, 0.0), (13_000.0, 25 / 60, 0.0), (13_000.0, 40 / 60, 10 / 60), (14_000.0, 1.0, 0.5),
    (14_001.0, 1.0, 1.0), (15_000.0, 2.0, 2.0)])
def test_oxygen_of_the_crew(cabin_ft, hours, crew_h):
    assert float(crew_oxygen_h(cabin_ft, hours)) == pytest.approx(crew_h, abs=1e-9)


# Source: the same paragraph: without oxygen on board, to 12,500 ft, and half an hour to 14,000 ft.
@pytest.mark.parametrize(("level_ft", "hours", "allowed"), [
    (12_500.0, 5.0, True), (13_000.0, 0.5, True), (13_000.0, 0.6, False), (14_000.0, 0.5, True),
    (14_001.0, 0.1, False)])
def test_levels_without_oxygen_on_board(level_ft, hours, allowed):
    assert bool(oxygen_allows(level_ft, hours, oxygen=False, oxygen_free_ft=12_500.0)) is allowed
    assert bool(oxygen_allows(level_ft, hours, oxygen=True, oxygen_free_ft=12_500.0))


# Common practice with passengers, unpressurised; the half hour of 91.211(a)(1) comes on top, 17,500 ft on request.
@pytest.mark.parametrize(("level_ft", "hours", "people", "highest_ft", "allowed"), [
    (12_500.0, 3.0, 4, 12_500.0, True), (13_000.0, 3.0, 4, 12_500.0, False), (13_000.0, 0.5, 4, 12_500.0, True),
    (14_001.0, 0.2, 4, 12_500.0, False), (21_000.0, 3.0, 1, 12_500.0, True), (17_500.0, 3.0, 4, 17_500.0, True),
    (19_000.0, 0.1, 4, 17_500.0, False), (11_000.0, 0.2, 2, 10_000.0, False)])
def test_levels_with_passengers(level_ft, hours, people, highest_ft, allowed):
    assert bool(passengers_allow(level_ft, hours, people, highest_ft)) is allowed


@pytest.mark.parametrize(("limit_ft", "highest_ft"), [(10_000.0, 10_000.0), (12_500.0, 14_000.0), (17_500.0, 17_500.0)])
def test_no_level_above_the_highest_with_passengers_is_ever_allowed(limit_ft, highest_ft):
    assert highest_with_passengers_ft(limit_ft) == highest_ft
    assert bool(passengers_allow(highest_ft, 0.1, 2, limit_ft))
    assert not bool(passengers_allow(highest_ft + 1.0, 0.0 if highest_ft < 12_500 else 0.1, 2, limit_ft))


# Source: 14 CFR 91.159(a)(1): magnetic course 0 to 179 odd thousands plus 500, 180 to 359 even thousands plus 500.
def test_visual_cruising_levels():
    assert legal_levels_ft(179.0, False, 5000.0, 8000.0).tolist() == [5500.0, 7500.0]
    assert legal_levels_ft(180.0, False, 5000.0, 8000.0).tolist() == [6500.0]
    assert legal_levels_ft(0.0, False, 3000.0, 6000.0).tolist() == [3500.0, 5500.0]
    assert legal_levels_ft(359.0, False, 3000.0, 7000.0).tolist() == [4500.0, 6500.0]
    assert legal_levels_ft(90.0, False, 17_000.0, 25_000.0).tolist() == [17_500.0]


# Source: 14 CFR 91.179(b)(1): below 18,000 ft in uncontrolled airspace, and the practice elsewhere.
def test_instrument_cruising_levels():
    assert legal_levels_ft(90.0, True, 4000.0, 9000.0).tolist() == [5000.0, 7000.0, 9000.0]
    assert legal_levels_ft(270.0, True, 4000.0, 9000.0).tolist() == [4000.0, 6000.0, 8000.0]


# Source: 14 CFR 91.159: within 3,000 ft of the ground levels do not go by direction.
def test_low_hops_are_free_of_the_rule():
    levels = choose_levels_ft(90.0, False, 3800.0, 12_000.0, 2000.0)
    assert levels[0] == 4000.0
    assert choose_levels_ft(90.0, False, 5200.0, 12_000.0, 2000.0)[0] == 5500.0


# Source: 14 CFR 91.409(b): 100 hours of time in service for those carried or taught for hire.
def test_hundred_hour_inspection_is_for_hire_only():
    assert not inspection_due(98.0, 2.0, 100.0)
    assert inspection_due(98.0, 2.1, 100.0)
    assert not inspection_due(250.0, 5.0, np.inf)


def test_hours_flown_over_the_inspection_count_against_the_next():
    """14 CFR 91.409(b): done at 106 h in place of 100 h, the next one is due at 200 h; done early, 100 h later."""
    assert next_inspection_h(106.0, 100.0) == 200.0
    assert next_inspection_h(94.0, 100.0) == 194.0
