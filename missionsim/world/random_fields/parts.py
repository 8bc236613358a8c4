"""The independent parts a field is the sum of: their shares of the variance, how they fade, when they are known."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.world.random_fields.hours import HOURS, START_H

_MID_JANUARY = 14.5


@dataclass(frozen=True, slots=True)
class Part:
    """One independent part of a field.

    Parameters
    ----------
    share : float        Of the variance in mid January, 0 to 1.
    summer_share : float In mid July; a cosine joins the two.
    e_fold_h : float     Time over which its correlation falls to 1/e. [h]
    known_h : float      How long ahead a forecaster knows it. [h]
    spacing_nm : float   Spacing of its knots; 0 is local to a place. [nm]
    """

    share: float
    summer_share: float
    e_fold_h: float
    known_h: float
    spacing_nm: float

    @property
    def phi(self) -> float:
        """Correlation from one hour to the next."""
        return float(np.exp(-1.0 / self.e_fold_h))


def known_until(part: Part, valid: Array, issued: Array) -> Array:
    """Return the hour up to which a part is known when a forecast is issued, no later than the one it is for."""
    return np.minimum(valid, issued + np.int64(part.known_h))


def parts_of(assumptions: Assumptions, name: str, total: tuple[float, float] = (1.0, 1.0)) -> tuple[Part, ...]:
    """Return the parts of a field from the assumptions, their shares scaled to a total variance.

    Parameters
    ----------
    total : (winter, summer)   In mid January and in mid July.

    Raises
    ------
    ValidityError   If a share or an e-folding time is not above 0, or nothing is left for the parts.
    """
    share, *rest = (assumptions[f"weather.{name}_{column}"]
                    for column in ("share", "e_fold_h", "known_h", "spacing_nm"))
    shares = [share["winter"], share["summer"]] if isinstance(share, Mapping) else [share, share]
    if min(total) <= 0.0 or min(map(min, shares)) <= 0.0 or min(rest[0]) <= 0.0 or min(rest[1]) < 0.0:
        raise ValidityError(f"weather.{name}: shares {shares}, e-folding times {rest[0]} h, known ahead {rest[1]} h, "
                            f"variance left by year and season {total}; "
                            "accepted: shares and times above 0, known from 0, variance above 0")
    winter, summer = ([one * left / sum(half) for one in half] for half, left in zip(shares, total, strict=True))
    return tuple(Part(*columns) for columns in zip(winter, summer, *rest, strict=True))


def by_day(winter: float, summer: float) -> Floats:
    """Return what has one value in mid January and another in mid July on every day simulated, by a cosine."""
    day = np.arange(HOURS // 24) + START_H / 24 + 0.5
    return 0.5 * (winter + summer) + 0.5 * (winter - summer) * np.cos(2.0 * np.pi * (day - _MID_JANUARY) / 365.0)
