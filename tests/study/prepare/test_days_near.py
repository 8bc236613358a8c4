"""Which days of places are drawn with those that flights ask for, for what may come between."""

from types import SimpleNamespace

import numpy as np

from missionsim.study.prepare.weather import _near
from missionsim.world.random_fields.windows import DAYS

HOME, THERE, ON, ALTERNATE, OTHER = range(5)


def days_near(arrival_i):
    """Return the days of each place, for a trip HOME - THERE - ON - HOME whose second leg is open in one hour."""
    schedule = SimpleNamespace(from_place=np.array([HOME, THERE, ON]), to_place=np.array([THERE, ON, HOME]),
                               first_leg=np.array([0, 3]), trip=np.zeros(3, dtype=int))
    alternates = np.full((5, 2), -1)
    alternates[ON, 0], alternates[THERE, 0] = ALTERNATE, OTHER
    open_ = np.array([[False], [True], [False]])
    gates = SimpleNamespace(open_=open_, alternates=SimpleNamespace(place=alternates), hours=SimpleNamespace(
        departure_i=np.full((3, 1), 24 * 20), arrival_i=np.full((3, 1), arrival_i)))
    place, hour = _near(gates, schedule)
    assert (hour % 24 == 0).all()
    return {of: (hour[place == of] // 24).tolist() for of in range(5)}


def test_an_aircraft_waits_two_days_and_is_mended_within_four():
    # The forecast is looked at an hour before leaving at midnight, which is the day before.
    assert days_near(24 * 20 + 4) == {HOME: [20, 21, 22, 23, 24], THERE: [20, 21, 22, 23, 24],
                                      ON: [19, 20, 21, 22, 23, 24], ALTERNATE: [19, 20, 21, 22], OTHER: []}


def test_no_day_lies_beyond_the_last():
    assert days_near(24 * DAYS - 30)[HOME] == [DAYS - 2, DAYS - 1]
