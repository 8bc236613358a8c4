"""How each candidate wears, from its profile, its class and the assumptions; and the luck of a replication."""

from __future__ import annotations

from dataclasses import dataclass
from math import log

import numpy as np

from missionsim.aircraft.figures import likely
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.money.cost_profile import CostProfile
from missionsim.year.schedule import Upkeep, Wear

FAULTS = 60
"""Faults drawn ahead; no aircraft meets more in a year."""
DAY_H = 24.0


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
        ranks = generator(seed, replication, Stream.STATE, *_address(year)).random(4)
        oil_h, repair = a["maintenance.oil_change_interval_h"], a.entry("maintenance.repair_days_home")
        away = a.entry("maintenance.repair_days_away")
        sigma = 0.5 * log(repair.high / repair.low) / 1.2816
        annual = a.entry("maintenance.annual_days")
        annual_sigma = 0.5 * log(annual.high / annual.low) / 1.2816
        annual_down_h = DAY_H * annual.value * float(np.exp(annual_sigma * normal_quantile(float(ranks[2]))))
        return Upkeep(
            oil_interval_h=oil_h, oil_since_h=ranks[0] * oil_h if self.oil_since_h is None else self.oil_since_h,
            oil_down_h=a["maintenance.oil_change_h"], annual_due_h=self._annual_due_h(float(ranks[1])),
            annual_down_h=annual_down_h, inspection_interval_h=float("inf"), inspection_since_h=0.0,
            inspection_down_h=DAY_H * a["maintenance.hundred_hour_days"],
            fault_mean_h=self.fault_interval_h * (1.0 - a["maintenance.deferrable_share"]),
            deferrable_share=a["maintenance.deferrable_share"],
            repair_home_median_h=DAY_H * repair.value * self.repair_factor,
            repair_away_median_h=DAY_H * away.value * self.repair_factor, repair_sigma=sigma,
            wait_for_repair_h=a["year.wait_for_repair_h"],
            deferred_repair_h=a["year.deferred_repair_h"])

    def _annual_due_h(self, rank: float) -> float:
        """Return when the annual starts: some day of the owner's month, unless the last one runs out before."""
        month = self.assumptions["maintenance.annual_month"] - 1 + rank
        if self.months_since_annual is not None:
            month = min(max(12.0 - self.months_since_annual, 0.0), month)
        return month * 8760.0 / 12.0


def upkeep_rule(profile: Profile, cost: CostProfile, assumptions: Assumptions) -> UpkeepRule:
    """Return the upkeep rule of a candidate."""
    state = profile.state
    # A negative figure stands for an unknown one: no listing says it.
    oil, annual = likely(state.hours_since_oil_change_h, -1.0), likely(state.months_since_annual, -1.0)
    watched = assumptions["keeping.monitor_fault_factor"] if profile.engine.monitor else 1.0
    return UpkeepRule(cost.klass, float(assumptions["maintenance.grounding_interval_h"][cost.klass]) * watched,
                      None if oil < 0.0 else oil, None if annual < 0.0 else annual, assumptions,
                      assumptions["unknown.orphan_repair_factor"] if profile.identity.maker_supports is False else 1.0)


def _address(year: int) -> tuple[int, ...]:
    """Return the finer address of a stream: none in the first year, which thereby is that of a one-year study."""
    return (year,) if year else ()


def wear(seed: int, replication: int, year: int = 0) -> Wear:
    """Return the luck of a replication's first or later year: the same faults, by number, for every candidate."""
    faults = generator(seed, replication, Stream.FAULTS, *_address(year))
    repairs = generator(seed, replication, Stream.REPAIRS, *_address(year))
    return Wear(fault_sum=np.cumsum(faults.standard_exponential(FAULTS)), defer_rank=faults.random(FAULTS),
                cost_rank=repairs.random(FAULTS), repair_normal=repairs.standard_normal(FAULTS),
                shop_rank=repairs.random(FAULTS))
