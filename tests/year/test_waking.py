from __future__ import annotations

import numpy as np
import pytest

from missionsim.year.waking import WakingDay

DAY = WakingDay(begins_local_h=7.0, hours=16.0)  # seven in the morning to eleven at night


@pytest.mark.parametrize(("begins", "ends", "awake"), [
    (24 + 9.0, 24 + 12.0, 3.0),           # by day
    (24 + 18.0, 48 + 7.0, 5.0),           # an evening, until one gets up
    (24 + 18.0, 48 + 10.0, 5.0 + 3.0),    # off at ten the next morning
    (24 + 9.0, 48 + 9.0, 16.0),           # a whole day
    (24 + 9.0, 72 + 12.0, 2 * 16.0 + 3.0),
    (24 + 22.0, 48 + 2.0, 4.0),           # nobody goes to bed for four hours
    (24 + 23.5, 48 + 8.0, 1.0),           # slept through
    (24 + 12.0, 24 + 9.0, 0.0),           # not late at all
])
def test_waking_hours_of_a_wait_by_hand(begins, ends, awake):
    assert DAY.waited_h(np.array([begins]), np.array([ends]))[0] == pytest.approx(awake)
