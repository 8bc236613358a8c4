"""Student t and F distributions, intervals of means and of ratios, and the spread of single years.

Every sum is exactly rounded (`math.fsum`), so that a result does not depend on how its rows were laid out or grouped.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from functools import cache, lru_cache

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.errors import ValidityError

# What `low, high` and `p10, p50, p90` mean in every output: definitions, not assumptions.
CONFIDENCE_SHARE = 0.95
SPREAD_SHARES = (0.1, 0.5, 0.9)
LEAST_YEARS_OF_POINTS = 36
"""Fewer years do not bracket their 10 and 90 % points: 0.9 to the power of 36 is under half of 5 %."""

Interval = tuple[float | None, float | None, float | None]
Measure = dict[str, float | None]
"""What years say of a quantity: its mean, interval and points, by name."""

_CONVERGED = 1e-15
_MOST_TERMS = 20_000
_TINY = 1e-300


def incomplete_beta(a: float, b: float, x: float, rest: float | None = None) -> float:
    """Return the regularised incomplete beta function I_x(a, b).

    Parameters
    ----------
    a, b : float              Parameters, above zero.
    x : float                 0 to 1.
    rest : float, optional    1 - x, where the caller knows it more exactly than the difference would give it.

    Returns
    -------
    float                     0 to 1, absolute error below 1e-8 for parameters up to a million, 1e-12 below a thousand.

    Raises
    ------
    ValidityError             If an argument lies outside its range.

    References
    ----------
    .. [1] NIST Digital Library of Mathematical Functions, section 8.17, continued fraction 8.17.22.
    """
    rest = 1.0 - x if rest is None else rest
    if not (a > 0.0 and b > 0.0 and 0.0 <= x <= 1.0):
        msg = f"study.intervals: incomplete beta of a {a:g}, b {b:g}, x {x:g}; accepted: a and b above 0, x 0 to 1"
        raise ValidityError(msg)
    if x == 0.0 or rest == 0.0:
        return 0.0 if x == 0.0 else 1.0
    if x > (a + 1.0) / (a + b + 2.0):  # the fraction converges fast on the lower side only
        return 1.0 - incomplete_beta(b, a, rest, x)
    front = math.exp(a * math.log(x) + b * math.log(rest) + math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b))
    return min(1.0, front / (a * _beta_fraction(a, b, x)))


def student_t_cdf(t: float, freedom: float) -> float:
    """Return the chance that Student's t with `freedom` degrees of freedom lies below `t`, to 1e-8."""
    if freedom <= 0.0 or math.isnan(t):
        msg = f"study.intervals: Student t of t {t:g}, {freedom:g} degrees of freedom; accepted: freedom above 0"
        raise ValidityError(msg)
    upper = 0.5 * _two_tails(abs(t), freedom)
    return upper if t < 0.0 else 1.0 - upper


@lru_cache(maxsize=512)
def student_t_quantile(share: float, freedom: float) -> float:
    """Return the quantile of Student's t; relative error below 1e-8.

    Parameters
    ----------
    share : float      Probability below the quantile, above 0 and below 1.
    freedom : float    Degrees of freedom, above 0.

    Raises
    ------
    ValidityError      If an argument lies outside its range.
    """
    if not (0.0 < share < 1.0 and freedom > 0.0):
        msg = f"study.intervals: Student t quantile of share {share:g}, {freedom:g} degrees of freedom; " \
              "accepted: share above 0 and below 1, freedom above 0"
        raise ValidityError(msg)
    if share == 0.5:
        return 0.0
    tails = 2.0 * min(share, 1.0 - share)
    low, high = 0.0, 1.0
    while _two_tails(high, freedom) > tails:
        low, high = high, 2.0 * high
    for _ in range(200):
        middle = 0.5 * (low + high)
        if middle in {low, high}:
            break
        low, high = (middle, high) if _two_tails(middle, freedom) > tails else (low, middle)
    return math.copysign(0.5 * (low + high), share - 0.5)


def f_above(ratio: float, freedom_top: float, freedom_bottom: float) -> float:
    """Return the chance that an F variable exceeds `ratio`: the p value of an F test, to 1e-8."""
    if ratio < 0.0 or math.isnan(ratio):
        raise ValidityError(f"study.intervals: F ratio is {ratio:g}; accepted: 0 and above")
    if math.isinf(ratio):
        return 0.0
    whole = freedom_bottom + freedom_top * ratio
    return incomplete_beta(0.5 * freedom_bottom, 0.5 * freedom_top, freedom_bottom / whole,
                           freedom_top * ratio / whole)


def mean_interval(values: ArrayLike, confidence_share: float = CONFIDENCE_SHARE) -> Interval:
    """Return mean, low and high: the interval of the mean by Student's t over replications.

    Parameters
    ----------
    values : (n,) array       One value a replication, in any unit.
    confidence_share : float  Chance that the interval covers the true mean.

    Returns
    -------
    tuple                     Mean, low, high in the unit of `values`; None where undefined (no value at all; an
                              interval from fewer than two).

    Raises
    ------
    ValidityError             If a value is not finite.
    """
    x = finite_row(values)
    if x.size == 0:
        return None, None, None
    mean = exact_mean(x)
    if x.size == 1:
        return mean, None, None
    half = half_width(standard_error(x), x.size, confidence_share)
    return mean, mean - half, mean + half


def year_points(values: ArrayLike) -> Interval:
    """Return the 10, 50 and 90 % points of single years; None without any value.

    Straight between order statistics at ranks (n + 1) p, the smallest and largest value beyond them: one more year lies
    below such a point with its chance (definition 6 of R. J. Hyndman and Y. Fan, The American Statistician 50 (1996),
    361-365).
    """
    x = finite_row(values)
    if x.size == 0:
        return None, None, None
    low, middle, high = np.quantile(x, SPREAD_SHARES, method="weibull")
    return float(low), float(middle), float(high)


def evenly(values: Floats, most: int) -> Floats:
    """Return values in order; of more than `most` so many quantiles, each in the middle of its share."""
    if len(values) <= most:
        return np.sort(values)
    return np.quantile(values, (np.arange(most) + 0.5) / most)


def point_interval(values: ArrayLike, share: float, confidence_share: float = CONFIDENCE_SHARE,
                   ) -> tuple[float | None, float | None]:
    """Return the order statistics between which a point of single years lies; None, None from too few years.

    Whatever the distribution, the chance that the true point lies between them is a binomial sum; the narrowest pair
    with equal tails at least as sure as asked is taken. The 10 and 90 % points need 36 years.

    Parameters
    ----------
    values : (n,) array
    share : float       Of years below the point.

    References
    ----------
    .. [1] H. A. David and H. N. Nagaraja, Order Statistics, 2003, section 7.1 (from memory).
    """
    x = np.sort(finite_row(values))
    n = x.size
    if n == 0:
        return None, None
    low, high = _point_ranks(n, share, confidence_share)
    if low < 1 or high > n:
        return None, None
    return float(x[low - 1]), float(x[high - 1])


@cache
def _point_ranks(n: int, share: float, confidence_share: float) -> tuple[int, int]:
    """Return the ranks of the order statistics of `point_interval`; 0 or n + 1 where there is none."""
    ranks, tail = np.arange(n + 1), 0.5 * (1.0 - confidence_share)
    log = np.array([math.lgamma(n + 1) - math.lgamma(k + 1) - math.lgamma(n - k + 1) for k in range(n + 1)])
    below = np.cumsum(np.exp(log + ranks * math.log(share) + (n - ranks) * math.log1p(-share)))
    low = int(np.searchsorted(below, tail, side="right"))          # P(at most low - 1 years below) is a tail at most
    high = int(np.searchsorted(below, 1.0 - tail, side="left")) + 1
    return low, high


def pooled_points(values: Floats) -> dict[str, float | None]:
    """Return `p10, p50, p90` of years with several draws each, and intervals of the outer two from the years.

    Parameters
    ----------
    values : (n, d) array    One row a year, one column a draw of what is laid over all years alike.

    Returns
    -------
    dict                     `p10_low, p10_high, p90_low, p90_high` are None below 36 years.
    """
    n = len(values)
    if n == 0 or not np.ptp(values, axis=1).any():   # nothing is laid over the years
        return {k: v for k, v in measure(values.mean(axis=1)).items() if k.startswith("p")}
    shares = np.array(SPREAD_SHARES)
    # The rule reaches beyond few years; with draws laid over them, their end would be the oddest draw of all.
    points = np.quantile(values, np.clip((n + 1) * shares / n - 0.5 / n, 0.05, 0.95) if n > 1 else shares)
    found: dict[str, float | None] = dict(zip(("p10", "p50", "p90"), points.tolist(), strict=True))
    for name, share, at in (("p10", 0.1, points[0]), ("p90", 0.9, points[2])):
        if n < LEAST_YEARS_OF_POINTS:
            found |= {f"{name}_low": None, f"{name}_high": None}
            continue
        below = (values <= at).mean(axis=1)      # of each year: how the draws laid over it fall
        half = half_width(standard_error(below), n)
        low, high = np.quantile(values, [max(share - half, 0.0), min(share + half, 1.0)])
        found |= {f"{name}_low": float(low), f"{name}_high": float(high)}
    return found


def measure(values: ArrayLike) -> dict[str, float | None]:
    """Return mean, its interval, points of single years and theirs.

    Keys `mean, low, high, p10, p50, p90, p10_low, p10_high, p90_low, p90_high`.
    """
    return _named(mean_interval(values), (None, None, None)) | _points(values)


def within(found: Mapping[str, float | None], least: float, most: float = math.inf) -> dict[str, float | None]:
    """Return a measure of what lies between two values by its nature: an interval of few years does not leave them.

    Parameters
    ----------
    found : mapping       As `measure` gives it.
    least, most : float   A share lies from 0 to 1, a count or an hour above 0.
    """
    return {name: None if v is None else min(max(v, least), most) for name, v in found.items()}


def _points(values: ArrayLike) -> dict[str, float | None]:
    points = (*year_points(values), *point_interval(values, SPREAD_SHARES[0]),
              *point_interval(values, SPREAD_SHARES[2]))
    return dict(zip(("p10", "p50", "p90", "p10_low", "p10_high", "p90_low", "p90_high"), points, strict=True))


def ratio_measure(numerator: ArrayLike, denominator: ArrayLike) -> dict[str, float | None]:
    """Return a ratio of sums with its jackknife interval, and the spread of the ratios of single years.

    The mean of yearly ratios would let a year with one completed trip weigh as much as a year with sixty.

    Parameters
    ----------
    numerator, denominator : (n,) array   One value a replication, in the same order.

    Returns
    -------
    dict                                  `mean` is sum over sum; `low, high` 95 %; `p10, p50, p90` over the years whose
                                          denominator is not 0; None where undefined.
    """
    top, bottom = paired_rows(numerator, denominator)
    defined = bottom != 0.0
    return _named(ratio_interval(top, bottom), (None, None, None)) | _points(top[defined] / bottom[defined])


def ratio_interval(numerator: ArrayLike, denominator: ArrayLike) -> Interval:
    """Return sum over sum, low and high; the interval by the jackknife, None where a year less makes it undefined."""
    top, bottom = paired_rows(numerator, denominator)
    if top.size == 0 or math.fsum(bottom) == 0.0:
        return None, None, None
    return jackknife_interval(math.fsum(top) / math.fsum(bottom), left_out_ratios(top, bottom))


def jackknife_interval(whole: float, left_out: Floats | None,
                       confidence_share: float = CONFIDENCE_SHARE) -> Interval:
    """Return an estimate with the interval that its leave-one-out values give.

    Parameters
    ----------
    whole : float                  The estimate from all replications.
    left_out : (n,) array or None  The estimate without each replication; None where one of them is undefined.

    References
    ----------
    .. [1] B. Efron and R. Tibshirani, An Introduction to the Bootstrap, 1993, chapter 11 (from memory).
    """
    if left_out is None or left_out.size < 2:
        return whole, None, None
    n = left_out.size
    about = left_out - exact_mean(left_out)
    error = math.sqrt((n - 1) / n * math.fsum(about * about))
    half = half_width(error, n, confidence_share)
    return whole, whole - half, whole + half


def left_out_ratios(top: Floats, bottom: Floats) -> Floats | None:
    """Return sum over sum without each replication, or None where one of the sums below is 0."""
    below = math.fsum(bottom) - bottom
    if top.size < 2 or np.any(below == 0.0):
        return None
    return np.asarray((math.fsum(top) - top) / below, dtype=np.float64)


def half_width(error: float, n: int, confidence_share: float = CONFIDENCE_SHARE) -> float:
    """Return half the interval of an estimate with this standard error from `n` replications, two at least."""
    return student_t_quantile(0.5 + 0.5 * confidence_share, float(n - 1)) * error


def exact_mean(values: Iterable[float]) -> float:
    """Return the mean by an exactly rounded sum: the same bytes in any order."""
    row = values.tolist() if isinstance(values, np.ndarray) else list(values)    # plain numbers add up twice as fast
    return math.fsum(row) / len(row)


def standard_error(x: Floats) -> float:
    """Return the standard error of the mean of two or more values."""
    about = x - exact_mean(x)
    return math.sqrt(math.fsum((about * about).tolist()) / (x.size - 1) / x.size)


def finite_row(values: ArrayLike) -> Floats:
    """Return values as a row of float64, refusing what is not finite."""
    x = np.atleast_1d(np.asarray(values, dtype=np.float64)).ravel()
    wrong = ~np.isfinite(x)
    if wrong.any():
        where = int(np.argmax(wrong))
        raise ValidityError(f"study.intervals: value {where} of {x.size} is {x[where]}; accepted: finite numbers " \
                            "(a quotient with nothing below it belongs in ratio_measure)")
    return x


def paired_rows(a: ArrayLike, b: ArrayLike) -> tuple[Floats, Floats]:
    """Return two rows of float64 of one length, refusing others."""
    first, second = finite_row(a), finite_row(b)
    if first.size != second.size:
        msg = f"study.intervals: paired rows hold {first.size} and {second.size} replications; accepted: equally many"
        raise ValidityError(msg)
    return first, second


def _named(of_mean: Interval, of_years: Interval) -> dict[str, float | None]:
    return dict(zip(("mean", "low", "high", "p10", "p50", "p90"), of_mean + of_years, strict=True))


def _two_tails(t: float, freedom: float) -> float:
    if math.isinf(t):
        return 0.0
    whole = freedom + t * t
    return incomplete_beta(0.5 * freedom, 0.5, freedom / whole, t * t / whole)


def _beta_fraction(a: float, b: float, x: float) -> float:
    """Return the continued fraction 1 + d1/(1 + d2/(1 + ...)) by the modified Lentz method."""
    value, up, down = 1.0, 1.0, 0.0
    for k in range(1, _MOST_TERMS):
        m = k // 2
        if k % 2:
            d = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        else:
            d = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        down = 1.0 / _off_zero(1.0 + d * down)
        up = _off_zero(1.0 + d / up)
        value *= up * down
        if abs(up * down - 1.0) < _CONVERGED:
            return value
    msg = f"study.intervals: incomplete beta of a {a:g}, b {b:g}, x {x:g} did not settle in {_MOST_TERMS} terms"
    raise ValidityError(msg)


def _off_zero(value: float) -> float:
    return value if abs(value) > _TINY else _TINY
