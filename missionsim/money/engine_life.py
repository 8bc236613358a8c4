"""How long engines last: hours until an overhaul for condition, by a table.

The life is a table of shares already overhauled by hours since the last overhaul. Between its points the hazard is
constant, so that an early-failure period, a long flat part and wear-out follow from the table.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError


@dataclass(frozen=True, slots=True)
class EngineLife:
    """Cumulative hazard of an overhaul for condition, linear between its points.

    Attributes
    ----------
    hours_h : (n,) array          From 0, rising.
    cumulative : (n,) array       Minus the logarithm of the share still running; its last slope goes on.
    """

    hours_h: Floats
    cumulative: Floats

    def cumulative_hazard(self, hours_h: ArrayLike) -> Floats:
        """Return the accumulated hazard at hours since overhaul."""
        hours = np.asarray(hours_h, dtype=np.float64)
        beyond = np.maximum(hours - self.hours_h[-1], 0.0) * self._last_slope()
        return np.asarray(np.interp(hours, self.hours_h, self.cumulative) + beyond, dtype=np.float64)

    def overhaul_hours_h(self, uniform: ArrayLike, already_h: ArrayLike = 0.0) -> Floats:
        """Return the hours since overhaul at which the next one falls due by condition.

        Parameters
        ----------
        uniform : float or array       Uniform draw, 0 to 1; small is an early failure.
        already_h : float or array     Hours since overhaul the engine has reached, so that its past is not drawn anew.
        """
        u = np.asarray(uniform, dtype=np.float64)
        if np.any((u < 0.0) | (u > 1.0)):
            raise ValidityError(f"money.engine_life: uniform draw from {u.min():g} to {u.max():g}; accepted: 0 to 1")
        target = self.cumulative_hazard(already_h) - np.log1p(-np.minimum(u, 1.0 - 1e-9))
        beyond = np.maximum(target - self.cumulative[-1], 0.0) / self._last_slope()
        return np.asarray(np.interp(target, self.cumulative, self.hours_h) + beyond, dtype=np.float64)

    def _last_slope(self) -> float:
        return float((self.cumulative[-1] - self.cumulative[-2]) / (self.hours_h[-1] - self.hours_h[-2]))


def engine_life(engine: str, assumptions: Assumptions, tbo_h: float | None = None, kind: str = "unknown") -> EngineLife:
    """Return the life of one sort of engine.

    Parameters
    ----------
    engine : str               `four_small`, `four`, `six`, `six_large`, `turbo` or `diesel`.
    assumptions : Assumptions  Group `engine_life`.
    tbo_h : float              Published hours of this engine; the table past the early period is stretched by it.
    kind : str                 Of the last overhaul: `field`, `shop`, `factory` or `unknown`; changes the early hazard.
    """
    points = np.array(assumptions["engine_life.points_h"][engine], dtype=np.float64)
    share = np.array(assumptions["engine_life.overhauled_share"][engine], dtype=np.float64)
    if tbo_h is not None:
        stretch = tbo_h / assumptions["engine_life.tbo_h"][engine]
        points[1:] = points[0] + (points[1:] - points[0]) * stretch
    cumulative = -np.log1p(-share)
    cumulative += cumulative[0] * (assumptions["engine_life.early_factor"][kind] - 1.0)
    return EngineLife(np.concatenate([[0.0], points]), np.concatenate([[0.0], cumulative]))


def stretched(hours_h: ArrayLike, early_h: float, share: ArrayLike) -> Floats:
    """Return hours of an engine whose life past the early period is this share of another's. [h]"""
    hours = np.asarray(hours_h, dtype=np.float64)
    return np.asarray(np.minimum(hours, early_h) + np.maximum(hours - early_h, 0.0) * share)


def counted_h(hours_h: ArrayLike, years: ArrayLike, assumptions: Assumptions) -> Floats:
    """Return the hours since overhaul that a buyer counts: those run, and a part of what is usual at its age. [h]

    Parameters
    ----------
    hours_h, years : float or array   Since overhaul.
    assumptions : Assumptions         Group `engine_life`.
    """
    hours = np.asarray(hours_h, dtype=np.float64)
    usual = assumptions["engine_life.unknown_hours_per_year"] * np.asarray(years, dtype=np.float64)
    return np.asarray(hours + assumptions["engine_life.value_age_share"] * np.maximum(usual - hours, 0.0))


def wear_factor(hours_per_year: ArrayLike, years_since_overhaul: ArrayLike, assumptions: Assumptions,
                calendar_years: ArrayLike | None = None) -> Floats:
    """Return how much faster than its hours an engine ages: flown too little, or older than it stays sound.

    Parameters
    ----------
    hours_per_year, years_since_overhaul : float or array
    assumptions : Assumptions         Group `engine_life`.
    calendar_years : float or array   Age from which this engine wears faster; None: the usual calendar limit.
    """
    flown, years = np.asarray(hours_per_year, dtype=np.float64), np.asarray(years_since_overhaul, dtype=np.float64)
    idle = np.where(flown < assumptions["engine_life.idle_hours"], assumptions["engine_life.idle_factor"], 1.0)
    sound = assumptions["engine_life.calendar_years"] if calendar_years is None else calendar_years
    old = np.where(years > np.asarray(sound, dtype=np.float64), assumptions["engine_life.old_factor"], 1.0)
    return np.asarray(idle * old, dtype=np.float64)
