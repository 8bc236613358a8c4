"""Tipping points: the value of one condition of the study at which the choice between two candidates changes hands."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from numpy.typing import ArrayLike

from missionsim.base.errors import ValidityError
from missionsim.statistics.intervals import CONFIDENCE_SHARE, exact_mean, mean_interval, paired_rows, student_t_quantile


@dataclass(frozen=True, slots=True)
class TippingPoint:
    """Where the mean paired difference crosses zero.

    Parameters
    ----------
    at : float               Value of the condition at the crossing.
    low, high : float        Values between which the difference is not clearly different from zero (95 %); None where
                             the replications or the range looked at leave that side open.
    rising : bool            Whether the difference, a minus b in cost, rises through zero: a below the point, b above.
    """

    at: float
    low: float | None
    high: float | None
    rising: bool


def crossing(difference: Callable[[float], ArrayLike], low: float, high: float, tolerance: float,
             confidence_share: float = CONFIDENCE_SHARE) -> TippingPoint | None:
    """Find by bisection where the mean paired difference changes sign, and how surely it is placed.

    Parameters
    ----------
    difference : callable     Value to paired differences, (n,), the same replications at every value. Called once a
                              value at most: a call may fly the study again.
    low, high : float         Range looked at, in the unit of the condition.
    tolerance : float         Largest error of the values returned, above 0.
    confidence_share : float  Of the interval.

    Returns
    -------
    TippingPoint or None      None when the mean has the same sign at both ends: no change of hands in the range (or an
                              even number of them, which two ends cannot show). With several crossings: one of them.

    Raises
    ------
    ValidityError             If range or tolerance make no sense.
    """
    if not (low < high and tolerance > 0.0):
        msg = f"study.tipping: range {low:g} to {high:g}, tolerance {tolerance:g}; accepted: rising, above 0"
        raise ValidityError(msg)
    seen: dict[float, tuple[float, float, float]] = {}

    def bounds(value: float) -> tuple[float, float, float]:
        if value not in seen:
            mean, lower, upper = mean_interval(difference(value), confidence_share)
            if mean is None:
                raise ValidityError("study.tipping: no replication at all; accepted: one at least")
            seen[value] = (mean, -math.inf if lower is None else lower, math.inf if upper is None else upper)
        return seen[value]

    start, end = bounds(low)[0], bounds(high)[0]
    if start * end > 0.0 or start == end == 0.0:
        return None
    rising = start < 0.0 or end > 0.0
    at = _bisect(lambda v: bounds(v)[0], low, high, tolerance, seen)
    left, right = _sides(bounds, seen, (low, at, high), tolerance, rising)
    return TippingPoint(at, left, right, rising)


def linear_crossing(base: ArrayLike, slope: ArrayLike, confidence_share: float = CONFIDENCE_SHARE,
                    ) -> TippingPoint | None:
    """Return where base + slope x value is zero in the mean, solved outright.

    For conditions in which cost is linear, such as the price of fuel with routes kept: no new flight.

    Parameters
    ----------
    base : (n,) array         Paired difference at value 0. [usd]
    slope : (n,) array        Its rise for each unit of the condition. [usd per unit]
    confidence_share : float  Of the interval.

    Returns
    -------
    TippingPoint or None      None when the mean slope is 0. Open sides (None) when the slope is not clearly different
                              from zero: then no value is excluded on at least one side.

    References
    ----------
    .. [1] E. C. Fieller, Some problems in interval estimation, Journal of the Royal Statistical Society B 16 (1954),
       175-185 (from memory).
    """
    a, b = paired_rows(base, slope)
    if a.size == 0 or exact_mean(b) == 0.0:
        return None
    mean_a, mean_b = exact_mean(a), exact_mean(b)
    at = -mean_a / mean_b
    if a.size < 2:
        return TippingPoint(at, None, None, mean_b > 0.0)
    squared_t = student_t_quantile(0.5 + 0.5 * confidence_share, float(a.size - 1)) ** 2
    about_a, about_b = a - mean_a, b - mean_b
    share = squared_t / (a.size * (a.size - 1))
    # Values v with (mean of a + v b)^2 <= t^2 times its squared standard error: a quadratic in v.
    square = mean_b**2 - share * math.fsum(about_b**2)
    middle = mean_a * mean_b - share * math.fsum(about_a * about_b)
    rest = mean_a**2 - share * math.fsum(about_a**2)
    if square <= 0.0:
        return TippingPoint(at, None, None, mean_b > 0.0)
    root = math.sqrt(max(0.0, middle**2 - square * rest))
    left, right = (-middle - root) / square, (-middle + root) / square
    return TippingPoint(at, min(at, left), max(at, right), mean_b > 0.0)


def _bisect(f: Callable[[float], float], low: float, high: float, tolerance: float,
            seen: dict[float, tuple[float, float, float]]) -> float:
    """Return where f changes sign between two values of different sign; starts from what was seen already."""
    rising = f(high) > 0.0 or f(low) < 0.0
    for value in sorted(v for v in seen if low < v < high):  # the tightest pair around the first change of sign
        if (f(value) > 0.0) == rising:
            high = value
            break
        low = value
    while high - low > tolerance:
        middle = 0.5 * (low + high)
        low, high = (low, middle) if (f(middle) > 0.0) == rising else (middle, high)
    return 0.5 * (low + high)


def _sides(bounds: Callable[[float], tuple[float, float, float]], seen: dict[float, tuple[float, float, float]],
           points: tuple[float, float, float], tolerance: float, rising: bool,
           ) -> tuple[float | None, float | None]:
    """Return the nearest values on both sides of the crossing at which the interval no longer holds zero."""
    low, at, high = points
    # Falling: left of the crossing the lower bound is above 0, right of it the upper bound is below 0.
    left_bound, right_bound = (2, 1) if rising else (1, 2)
    sign = -1.0 if rising else 1.0
    left = right = None
    if sign * bounds(low)[left_bound] > 0.0:
        left = min(at, _bisect(lambda v: bounds(v)[left_bound], low, high, tolerance, seen))
    if sign * bounds(high)[right_bound] < 0.0:
        right = max(at, _bisect(lambda v: bounds(v)[right_bound], low, high, tolerance, seen))
    return left, right
