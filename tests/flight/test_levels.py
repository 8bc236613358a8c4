from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.flight.levels import choose_levels_ft, legal_levels_ft

COURSES = st.floats(0, 359.99)


# Source: 14 CFR 91.159 and 91.179: 0 to 179 degrees odd thousands, 180 to 359 even; plus 500 ft under visual rules.
@pytest.mark.published
@pytest.mark.parametrize(("course", "instrument", "levels"), [
    (0.0, True, [5000, 7000, 9000]), (179.0, True, [5000, 7000, 9000]), (180.0, True, [4000, 6000, 8000, 10_000]),
    (359.0, True, [4000, 6000, 8000, 10_000]), (90.0, False, [5500, 7500, 9500]),
    (270.0, False, [4500, 6500, 8500])])
def test_levels_go_by_magnetic_course(course, instrument, levels):
    assert legal_levels_ft(course, instrument, 3600.0, 10_000.0).tolist() == levels


@given(course=COURSES, instrument=st.booleans(), low=st.floats(1000, 12_000), high=st.floats(3000, 25_000))
def test_levels_keep_their_limits_and_rise(course, instrument, low, high):
    levels = legal_levels_ft(course, instrument, low, high)
    assert ((levels >= low) & (levels <= high)).all()
    assert (np.diff(levels) == 2000.0).all()


@given(course=COURSES)
def test_opposite_courses_never_share_a_level(course):
    there, back = (set(legal_levels_ft(c, True, 3000.0, 17_000.0)) for c in (course, course + 180.0))
    assert not there & back


def test_visual_flight_ends_below_eighteen_thousand():
    assert legal_levels_ft(90.0, False, 15_000.0, 25_000.0).tolist() == [15_500.0, 17_500.0]


def test_a_short_hop_is_offered_a_low_level_where_the_rule_does_not_bind():
    # Field at 1,800 ft: within 3,000 ft of the ground any whole 500 ft will do.
    assert choose_levels_ft(90.0, False, 3300.0, 8000.0, 1800.0).tolist() == [3500.0, 5500.0, 7500.0]
    assert choose_levels_ft(90.0, False, 5000.0, 8000.0, 1800.0).tolist() == [5500.0, 7500.0]
