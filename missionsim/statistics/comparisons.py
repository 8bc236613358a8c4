"""Comparison of candidates over common replications: paired differences, who is best, and how surely.

Every row is one candidate, every column one replication, the same for all candidates; all comparisons are paired.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.errors import ValidityError
from missionsim.statistics.intervals import (
    CONFIDENCE_SHARE,
    Interval,
    exact_mean,
    finite_row,
    jackknife_interval,
    left_out_ratios,
    mean_interval,
    paired_rows,
    standard_error,
    student_t_quantile,
)


def paired_difference(a: ArrayLike, b: ArrayLike) -> dict[str, float | None]:
    """Return a minus b, paired by replication, as `mean, low, high` (95 %); None where undefined.

    Parameters
    ----------
    a, b : (n,) array     One value a replication, in the same order.
    """
    first, second = paired_rows(a, b)
    return _named(mean_interval(first - second))


def separate_difference(a: ArrayLike, b: ArrayLike) -> dict[str, float | None]:
    """Return mean of a minus mean of b, of years that are not the same ones, as `mean, low, high` (95 %).

    Parameters
    ----------
    a, b : arrays     One value a replication each; of fewer than two no interval is told.

    References
    ----------
    .. [1] B. L. Welch, The generalization of "Student's" problem when several different population variances are
       involved, Biometrika 34 (1947), 28-35; degrees of freedom by Satterthwaite (from memory).
    """
    first, second = finite_row(a), finite_row(b)
    if not first.size or not second.size:
        return _named((None, None, None))
    mean = exact_mean(first) - exact_mean(second)
    if min(first.size, second.size) < 2:
        return _named((mean, None, None))
    parts = [standard_error(x) ** 2 for x in (first, second)]
    if sum(parts) == 0.0:
        return _named((mean, mean, mean))
    freedom = sum(parts) ** 2 / sum(part ** 2 / (x.size - 1) for part, x in zip(parts, (first, second), strict=True))
    half = student_t_quantile(0.5 + CONFIDENCE_SHARE / 2.0, freedom) * math.sqrt(sum(parts))
    return _named((mean, mean - half, mean + half))


def ratio_difference(numerator_a: ArrayLike, denominator_a: ArrayLike, numerator_b: ArrayLike,
                     denominator_b: ArrayLike) -> dict[str, float | None]:
    """Return ratio of sums of a minus that of b as `mean, low, high`, by a jackknife that leaves out a year of both.

    Parameters
    ----------
    numerator_a, denominator_a : (n,) array   By replication, of the first.
    numerator_b, denominator_b : (n,) array   By replication, of the second.
    """
    top_a, bottom_a = paired_rows(numerator_a, denominator_a)
    top_b, bottom_b = paired_rows(numerator_b, denominator_b)
    paired_rows(top_a, top_b)
    if top_a.size == 0 or math.fsum(bottom_a) == 0.0 or math.fsum(bottom_b) == 0.0:
        return _named((None, None, None))
    whole = math.fsum(top_a) / math.fsum(bottom_a) - math.fsum(top_b) / math.fsum(bottom_b)
    less_a, less_b = left_out_ratios(top_a, bottom_a), left_out_ratios(top_b, bottom_b)
    left_out = None if less_a is None or less_b is None else less_a - less_b
    return _named(jackknife_interval(whole, left_out))


def extra_usd_per_hour_saved(cost_a: ArrayLike, cost_b: ArrayLike, hours_a: ArrayLike, hours_b: ArrayLike,
                             ) -> dict[str, float | None]:
    """Return what an hour saved costs: mean difference of cost over mean difference of hours, the other way round.

    Where the faster of the two is also the cheaper one an hour has no price. Swapping a and b changes nothing.

    Parameters
    ----------
    cost_a, cost_b : (n,) array      Cost a year, one value a replication. [usd]
    hours_a, hours_b : (n,) array    Hours a year, door to door. [h]

    Returns
    -------
    dict                             `mean, low, high` by the jackknife [usd/h]; None when the 95 % interval of the
                                     difference of hours holds 0, since a quotient by a number that may be 0 says
                                     nothing, and when the faster one is the cheaper one too.
    """
    dearer, saved = np.subtract(*paired_rows(cost_a, cost_b)), np.subtract(*paired_rows(hours_b, hours_a))
    paired_rows(dearer, saved)
    _, low, high = mean_interval(saved)
    if low is None or high is None or low <= 0.0 <= high:
        return _named((None, None, None))
    price = math.fsum(dearer) / math.fsum(saved)
    return _named((None, None, None) if price < 0.0 else jackknife_interval(price, left_out_ratios(dearer, saved)))


def probability_best(values: ArrayLike, lower_is_better: bool = True, *, denominators: ArrayLike | None = None,
                     ) -> list[float | None]:
    """Return the share of replications in which each candidate is best; equals share a replication.

    This is the chance for one owner in one year: it does not go to 1 with more replications.

    Parameters
    ----------
    values : (candidates, n) array        One row a candidate.
    lower_is_better : bool                False for a measure such as the share of trips completed.
    denominators : (candidates, n) array  For a quotient such as cost per completed trip; a year with 0 is never best.

    Returns
    -------
    list                                  One share per candidate; all None when no replication has a best one.
    """
    shares = best_shares(_quotients(values, denominators), lower_is_better)
    return _to_shares(shares)


def best_shares(values: Floats, lower_is_better: bool = True) -> Floats:
    """Return for every candidate and column 1 where it alone is best, an equal part where several are, else 0.

    A NaN is never best; a column of NaN alone gives NaN all over.
    """
    signed = values if lower_is_better else -values
    signed = np.where(np.isnan(signed), np.inf, signed)
    best = signed.min(axis=0)
    hit = (signed == best) & np.isfinite(best)
    count = hit.sum(axis=0)
    return np.asarray(np.where(count > 0, hit / np.maximum(count, 1), np.nan), dtype=np.float64)


def holm(p_values: ArrayLike) -> Floats:
    """Return p values adjusted for their number by Holm's step-down rule, in the order given.

    References
    ----------
    .. [1] S. Holm, A simple sequentially rejective multiple test procedure, Scandinavian Journal of Statistics 6
       (1979), 65-70 (from memory).
    """
    p = finite_row(p_values) if np.size(p_values) else np.empty(0)
    order = np.argsort(p, kind="stable")
    stepped = np.maximum.accumulate(p[order] * np.arange(p.size, 0, -1))
    adjusted = np.empty_like(p)
    adjusted[order] = np.minimum(stepped, 1.0)
    return adjusted


def _table(values: ArrayLike) -> Floats:
    table = np.ascontiguousarray(values, dtype=np.float64)
    if table.ndim != 2 or table.shape[0] == 0:
        raise ValidityError(f"study.statistics: values have shape {table.shape}; accepted: candidates x replications")
    finite_row(table)
    return table


def _quotients(values: ArrayLike, denominators: ArrayLike | None) -> Floats:
    top = _table(values)
    if denominators is None:
        return top
    bottom = _table(denominators)
    if bottom.shape != top.shape:
        msg = f"study.statistics: values have shape {top.shape}, denominators {bottom.shape}; accepted: the same"
        raise ValidityError(msg)
    return np.divide(top, bottom, out=np.full_like(top, np.nan), where=bottom != 0.0)


def _to_shares(shares: Floats) -> list[float | None]:
    defined = shares[:, ~np.isnan(shares[0])]
    if defined.shape[1] == 0:
        return [None] * shares.shape[0]
    return [exact_mean(row) for row in defined]


def _named(interval: Interval) -> dict[str, float | None]:
    return dict(zip(("mean", "low", "high"), interval, strict=True))
