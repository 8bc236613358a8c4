"""How each candidate wears, from its profile, its class and the assumptions; and the luck of a replication."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import exp, floor, log

import numpy as np

from missionsim.aircraft.figures import likely
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.money.cost_profile import CostProfile
from missionsim.year.aircraft import Upkeep, Wear

FAULTS = 60
"""Faults drawn ahead; no aircraft meets more in a year."""
DAY_H = 24.0
YEAR_MONTHS = 12
MONTH_H = DAY_H * np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
Z90 = float(normal_quantile(0.9))


@dataclass(frozen=True, slots=True)
class UpkeepRule:
    """Upkeep of a candidate before chance: what is unknown of its state is drawn over its interval."""

    klass: str
    fault_interval_h: float
    oil_since_h: float | None
    months_since_annual: float | None
    assumptions: Assumptions
    repair_factor: float = 1.0

    def upkeep(self, seed: int, replication: int, year: int = 0) -> Upkeep:
        """Return the upkeep of a replication, or of a later year of its ownership, from 1 on.

        Unknown state is drawn alike for all candidates.
        """
        a = self.assumptions
        oil_rank, annual_deviate = _state_luck(seed, replication, year)
        oil_h, repair, find = (a["maintenance.oil_change_interval_h"], a.entry("maintenance.repair_days"),
                               a.entry("maintenance.find_mechanic_days"))
        from_h, due_h = annual_window_h(self._annual_month(), a["maintenance.annual_early_months"])
        if self.months_since_annual is not None and self.months_since_annual > YEAR_MONTHS:
            from_h = due_h = 0.0
        annual = a.entry("maintenance.annual_days")
        booked, low, high = (annual.value[self.klass], annual.low[self.klass], annual.high[self.klass])
        annual_down_h = DAY_H * booked * exp(_sigma(low, high) * annual_deviate)
        return Upkeep(
            oil_interval_h=oil_h, oil_since_h=oil_rank * oil_h if self.oil_since_h is None else self.oil_since_h,
            oil_down_h=a["maintenance.oil_change_h"], annual_from_h=from_h, annual_due_h=due_h,
            annual_down_h=annual_down_h, inspection_interval_h=float("inf"), inspection_since_h=0.0,
            inspection_down_h=DAY_H * a["maintenance.hundred_hour_days"],
            fault_mean_h=self.fault_interval_h * (1.0 - a["maintenance.deferrable_share"]),
            deferrable_share=a["maintenance.deferrable_share"],
            shown_before_share=a["maintenance.shown_before_share"],
            shown_flying_share=a["maintenance.shown_flying_share"], ends_trip_share=a["maintenance.ends_trip_share"],
            repair_median_h=DAY_H * repair.value * self.repair_factor, repair_sigma=_sigma(repair.low, repair.high),
            find_low_h=DAY_H * find.low, find_median_h=DAY_H * find.value, find_high_h=DAY_H * find.high,
            weekend_h=DAY_H * a["maintenance.find_mechanic_weekend_days"],
            field_fix_h=a["maintenance.field_fix_h"],
            permit_share=a["maintenance.permit_share"], permit_h=DAY_H * a["maintenance.permit_days"],
            deferred_repair_h=a["year.deferred_repair_h"])

    def _annual_month(self) -> int:
        """Return the calendar month, January 0, at whose end the annual runs out; the year's last at the latest."""
        if self.months_since_annual is None:
            return int(self.assumptions["maintenance.annual_month"]) - 1
        return min(max(floor(YEAR_MONTHS - self.months_since_annual), 0), YEAR_MONTHS - 1)


def annual_window_h(month: int, early_months: float) -> tuple[float, float]:
    """Return when an annual may begin that runs out with a month, January 0: so many months before it, to its end.

    References
    ----------
    .. [1] 14 CFR 91.409(a): within the preceding 12 calendar months, so to the last day of the twelfth.
    """
    first = max(month - early_months, 0.0)
    return float(np.interp(first, np.arange(YEAR_MONTHS + 1), MONTH_H)), float(MONTH_H[month + 1])


def _sigma(low: float, high: float) -> float:
    """Return the spread of the logarithm from 10 and 90 % points."""
    return 0.5 * log(high / low) / Z90


def upkeep_rule(profile: Profile, cost: CostProfile, assumptions: Assumptions) -> UpkeepRule:
    """Return the upkeep rule of a candidate."""
    state = profile.state
    # A negative figure stands for an unknown one: no listing says it.
    oil, annual = likely(state.hours_since_oil_change_h, -1.0), likely(state.months_since_annual, -1.0)
    watched = assumptions["keeping.monitor_fault_factor"] if profile.engine.monitor else 1.0
    watched = watched / assumptions["maintenance.twin_fault_factor"] if cost.engines == 2 else watched
    return UpkeepRule(cost.klass, float(assumptions["maintenance.grounding_interval_h"][cost.klass]) * watched,
                      None if oil < 0.0 else oil, None if annual < 0.0 else annual, assumptions,
                      assumptions["unknown.orphan_repair_factor"] if profile.identity.maker_supports is False else 1.0)


@lru_cache(maxsize=4)
def _state_luck(seed: int, replication: int, year: int) -> tuple[float, float]:
    """Return the rank of the hours since the last oil change, and the deviate of the time an annual takes.

    Kept for the candidates that ask one after the other: drawn for each it is 0.2 ms a candidate-year.
    """
    ranks = generator(seed, replication, Stream.STATE, *_address(year)).random(4)
    return float(ranks[0]), float(normal_quantile(float(ranks[2])))


def _address(year: int) -> tuple[int, ...]:
    """Return the finer address of a stream: none in the first year, which thereby is that of a one-year study."""
    return (year,) if year else ()


def wear(seed: int, replication: int, year: int = 0) -> Wear:
    """Return the luck of a replication's first or later year: the same faults, by number, for every candidate."""
    faults = generator(seed, replication, Stream.FAULTS, *_address(year))
    repairs = generator(seed, replication, Stream.REPAIRS, *_address(year))
    shown = generator(seed, replication, Stream.FAULTS_SHOWN, *_address(year)).random((4, FAULTS))
    return Wear(fault_sum=np.cumsum(faults.standard_exponential(FAULTS)), defer_rank=faults.random(FAULTS),
                cost_rank=repairs.random(FAULTS), repair_normal=repairs.standard_normal(FAULTS),
                shop_rank=repairs.random(FAULTS), shown_rank=shown[0], ends_rank=shown[1], find_rank=shown[2],
                permit_rank=shown[3])
