"""What nothing beats in two things at once, and what each step between such choices costs."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.statistics.intervals import exact_mean, jackknife_interval, left_out_ratios, mean_interval


@dataclass(frozen=True, slots=True)
class Step:
    """One choice that nothing beats, and what it takes to come to it from the one before.

    Parameters
    ----------
    row : int                       Of the choice.
    extra : tuple                   Mean, low and high of its cost above the one before; None for the first.
    saved, gained : tuple           The same of hours saved and of trips more.
    per_saved, per_gained : tuple   Cost of an hour saved and of a trip more with their intervals; None unless the
                                    intervals of both parts exclude zero and both are gains.
    level : bool                    The step cannot be told from none: the interval of cost or of hours holds zero.
    """

    row: int
    extra: tuple[float | None, ...] | None = None
    saved: tuple[float | None, ...] | None = None
    gained: tuple[float | None, ...] | None = None
    per_saved: tuple[float | None, ...] | None = None
    per_gained: tuple[float | None, ...] | None = None
    level: bool = False


def unbeaten(cost: ArrayLike, hours: ArrayLike) -> list[int]:
    """Return rows that no other row beats, the cheapest first: none costs as little or less and takes as few hours.

    Parameters
    ----------
    cost, hours : (k,) array   Means; less is better in both. Of equals in both the first stays.
    """
    usd, h = np.asarray(cost, dtype=np.float64), np.asarray(hours, dtype=np.float64)
    found: list[int] = []
    least = math.inf
    for row in np.lexsort((h, usd)).tolist():
        if h[row] < least:
            found.append(row)
            least = float(h[row])
    return found


def steps(cost: Floats, hours: Floats, trips: Floats) -> list[Step]:
    """Return the choices that nothing beats in mean cost and mean hours, with the step that leads to each.

    Parameters
    ----------
    cost, hours, trips : (k, n) array   One row a choice, one column a replication, paired. [usd, h, trips a year]
    """
    rows = unbeaten([exact_mean(c) for c in cost], [exact_mean(h) for h in hours])
    return [Step(rows[0]), *(_step(a, b, cost, hours, trips) for a, b in pairwise(rows))]


def _step(a: int, b: int, cost: Floats, hours: Floats, trips: Floats) -> Step:
    extra, saved, gained = cost[b] - cost[a], hours[a] - hours[b], trips[b] - trips[a]
    dearer, quicker = _excludes_zero(extra), _excludes_zero(saved)
    return Step(b, mean_interval(extra), mean_interval(saved), mean_interval(gained),
                _price(extra, saved) if dearer and quicker else None,
                _price(extra, gained) if dearer and _excludes_zero(gained) else None, not (dearer and quicker))


def _excludes_zero(values: Floats) -> bool:
    _, low, high = mean_interval(values)
    return low is not None and high is not None and not low <= 0.0 <= high


def _price(extra: Floats, gain: Floats) -> tuple[float | None, ...] | None:
    if math.fsum(gain) <= 0.0 or math.fsum(extra) <= 0.0:
        return None
    return jackknife_interval(math.fsum(extra) / math.fsum(gain), left_out_ratios(extra, gain))
