"""The course of a day's temperature: mean, lowest, highest, and how it gets from one to the other."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from missionsim.base.arrays import Floats

_MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


class DayCourse(NamedTuple):
    """Of each month the mean, the ends of the course `low` and `high` [12], and the mean at each clock hour [12, 24].

    The ends lie half-way from the means by hour to the mean minimum and maximum: the other half comes from weather that
    changes within the day, which is simulated.
    """

    mean: Floats
    low: Floats
    high: Floats
    shape: Floats


def day_course(temperature_c: Floats) -> DayCourse:
    """Return the course of 8,760 hour-ending reports, the last one of a day stamped 24:00 and standing for 0 h."""
    ends = np.cumsum(_MONTH_DAYS)
    days = temperature_c.reshape(365, 24)
    months = [days[end - count:end] for end, count in zip(ends, _MONTH_DAYS, strict=True)]
    shape = np.stack([np.roll(m.mean(axis=0), 1) for m in months])
    low, high = (np.array([ends(m).mean() for m in months]) for ends in (_lowest, _highest))
    return DayCourse(shape.mean(axis=1), 0.5 * (low + shape.min(axis=1)), 0.5 * (high + shape.max(axis=1)), shape)


def _lowest(days: Floats) -> Floats:
    return np.asarray(days.min(axis=1))


def _highest(days: Floats) -> Floats:
    return np.asarray(days.max(axis=1))


def stretched(mean: Floats, low: Floats, high: Floats, shape: Floats) -> Floats:
    """Return a course [..., 24] of given mean, lowest and highest value [...], as the shape rises and falls.

    What lies above the mean is drawn out to the highest value, what lies below to the lowest; the mean is kept.

    Parameters
    ----------
    mean : (...) array        Daily mean.
    low : (...) array         Lowest value.
    high : (...) array        Highest value.
    shape : (..., 24) array   A course that rises and falls as wished.
    """
    centred = shape - shape.mean(axis=-1, keepdims=True)
    up, down = centred.max(axis=-1, keepdims=True), -centred.min(axis=-1, keepdims=True)
    rise, fall = (high - mean)[..., None], (mean - low)[..., None]
    course = np.where(centred > 0, centred / np.maximum(up, 1e-9) * rise, centred / np.maximum(down, 1e-9) * fall)
    excess = course.mean(axis=-1, keepdims=True)
    top = np.maximum(rise, 1e-9)
    # Where it is neither warmest nor coldest the course gives way until the mean is right.
    give = 4.0 * np.where(course > 0, course / top * (1 - course / top),
                          -course / np.maximum(fall, 1e-9) * (1 + course / np.maximum(fall, 1e-9)))
    course = course - excess * give / np.maximum(give.mean(axis=-1, keepdims=True), 1e-3)
    return np.asarray(mean[..., None] + course)
