"""Cost the same flown years again under other prices, hours, terms and years kept: no new flight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import ValidityError
from missionsim.money.categories import CATEGORIES, CODE, FIXED, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.insurance import quote
from missionsim.money.operating_costs import engine_reserve_usd_per_h
from missionsim.money.ownership_cash import Ownership, PurchaseTerms, YearlyRecords, own
from missionsim.study.prepare.study import Flyer, Prepared
from missionsim.study.replicate.ownership_years import OwnedYears, first_quote
from missionsim.study.replicate.tally import Tally

Array = NDArray[Any]
VARIABLE = tuple(c for c in CATEGORIES if c not in FIXED and c is not Category.INSPECTION)
"""Categories that grow with the trips flown."""


@dataclass(frozen=True)
class Change:
    """What is different from the study as it was flown.

    `scale` by category; `assume` replaces assumptions; `price_usd` by candidate number; `trips`: times those flown;
    `own_money_share`: yield of own money, the discount rate too; `years`: kept so long, at most those flown;
    `engine_h`: hours more on the engine bought; `extra_usd` a year, by candidate number.
    """

    scale: Mapping[Category, float] = field(default_factory=dict)
    assume: Mapping[str, Any] = field(default_factory=dict)
    price_usd: Mapping[int, float] = field(default_factory=dict)
    trips: float = 1.0
    own_money_share: float | None = None
    years: int | None = None
    engine_h: float = 0.0
    extra_usd: Mapping[int, float] = field(default_factory=dict)


UNCHANGED = Change()


@dataclass(frozen=True)
class Recosted:
    """The flown years of a study, ready to be costed again."""

    prepared: Prepared
    tallies: Sequence[Tally]

    @property
    def over_years(self) -> bool:
        """Whether the study looks at several years of ownership; then costs are equal yearly payments."""
        return self.tallies[0].owned is not None

    @property
    def names(self) -> list[str]:
        """Names of the candidates."""
        return [t.name for t in self.tallies]

    def costs(self, change: Change = UNCHANGED) -> Array:
        """Return cost a year by candidate and replication, everything counted. [usd]"""
        return np.stack([self.cost(i, change) for i in range(len(self.tallies))])

    def cost(self, number: int, change: Change = UNCHANGED) -> Array:
        """Return the cost a year of one candidate by replication. [usd]"""
        owned = self.tallies[number].owned
        extra = change.extra_usd.get(number, 0.0)
        if owned is None:
            return self._one_year(number, change) + extra
        return self.ownership(number, change).cost_per_year_usd + extra

    def ownership(self, number: int, change: Change = UNCHANGED) -> Ownership:
        """Return the ownership of one candidate under a change."""
        owned = self.tallies[number].owned
        if owned is None:
            raise ValidityError("study.recost: a one-year study has no ownership; accepted: years above 1")
        a = self._assumptions(change)
        flyer, prices = self.prepared.flyers[number], self.prepared.prices
        cost = _priced(flyer.cost, change.price_usd.get(number))
        if change.own_money_share is not None:
            prices = replace(prices, own_money_share_per_year=change.own_money_share)
        records = self._records(number, owned, change, cost)
        draws = owned.draws
        if change.engine_h:
            draws = replace(draws, hours_since_overhaul_h=draws.hours_since_overhaul_h + change.engine_h)
        return own(cost, records, draws, PurchaseTerms(dual_h=first_quote(self.prepared, flyer).dual_h), prices, a)

    def flight_hours(self, number: int) -> float:
        """Return mean flight hours a year as flown."""
        return float(self.tallies[number].column("flight_hours").mean())

    def _assumptions(self, change: Change) -> Assumptions:
        a = self.prepared.study.assumptions
        return a.supposed(change.assume) if change.assume else a

    def _one_year(self, number: int, change: Change) -> Array:
        flyer, part = self.prepared.flyers[number], self.tallies[number]
        factor = self._factors(flyer, change)
        usd = (part.categories / 100.0) @ factor
        price = change.price_usd.get(number)
        if price is not None:
            asked = flyer.cost.asking_price_usd
            usd = usd + self._of_price_usd(flyer, price, change) - self._of_price_usd(flyer, asked, change)
        if change.engine_h:
            a, now = self.prepared.study.assumptions, flyer.cost
            hours = part.drawn.get("engine.hours_since_overhaul_h", np.full(len(usd), now.hours_since_overhaul_h))
            more = np.minimum(hours + change.engine_h, now.tbo_h) - np.minimum(hours, now.tbo_h)
            usd = usd + more * a["ownership.value_per_engine_h"][now.engine] / a["ownership.years_kept"]
        return np.asarray(usd)

    def _factors(self, flyer: Flyer, change: Change) -> Array:
        """Return the factor on each category of a year."""
        factor = np.ones(len(CATEGORIES))
        for category, by in change.scale.items():
            factor[CODE[category]] *= by
        for category in VARIABLE:
            factor[CODE[category]] *= change.trips
        a, then = self.prepared.study.assumptions, self._assumptions(change)
        factor[CODE[Category.ENGINE_RESERVE]] *= (engine_reserve_usd_per_h(flyer.cost, then)
                                                  / engine_reserve_usd_per_h(flyer.cost, a))
        if change.own_money_share is not None:
            factor[CODE[Category.CAPITAL]] *= change.own_money_share / self.prepared.prices.own_money_share_per_year
        return factor

    def _of_price_usd(self, flyer: Flyer, price_usd: float, change: Change) -> float:
        """Return what depends on the price in a year: money tied up and, where it is estimated, the hull premium."""
        prices, then = self.prepared.prices, self._assumptions(change)
        rate = prices.own_money_share_per_year if change.own_money_share is None else change.own_money_share
        cost = _priced(flyer.cost, price_usd)
        known = flyer.cost.insurance_usd_per_year is not None or prices.insurance_usd_per_year is not None
        premium = 0.0 if known else quote(cost, flyer.experience, then).premium_usd
        return price_usd * rate + premium * change.scale.get(Category.INSURANCE, 1.0)

    def _records(self, number: int, owned: OwnedYears, change: Change, cost: CostProfile) -> YearlyRecords:
        records, years = owned.records, change.years or owned.records.flight_hours.shape[1]
        flyer, prices = self.prepared.flyers[number], self.prepared.prices
        cash = records.cash_cents[:, :years].astype(np.float64)
        for category, by in change.scale.items():
            cash[:, :, CODE[category]] *= by
        for category in VARIABLE:
            cash[:, :, CODE[category]] *= change.trips
        if number in change.price_usd and flyer.cost.insurance_usd_per_year is None \
                and prices.insurance_usd_per_year is None:
            a = self.prepared.study.assumptions
            cash[:, :, CODE[Category.INSURANCE]] *= (quote(cost, flyer.experience, a).premium_usd
                                                     / quote(flyer.cost, flyer.experience, a).premium_usd)
        hours, trips, seat_nm = (values[:, :years] * change.trips for values in (
            records.flight_hours, records.completed_trips, records.seat_nm))
        return YearlyRecords(hours, trips, seat_nm, np.rint(cash).astype(np.int64), records.reserve_cents[:, :years])


def _priced(cost: CostProfile, price_usd: float | None) -> CostProfile:
    """Return a cost profile at another price; what it is insured for moves along."""
    if price_usd is None:
        return cost
    hull = cost.hull_value_usd + price_usd - cost.asking_price_usd
    return replace(cost, asking_price_usd=price_usd, hull_value_usd=max(hull, 1_000.0))


__all__ = ["UNCHANGED", "VARIABLE", "Change", "Recosted"]
