"""Cost the same flown years again under other prices, hours, terms and years kept: no new flight."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.money.cash_items import overhauls_of
from missionsim.money.categories import CATEGORIES, CODE, FIXED, HOURLY, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.overhauls import Overhauls, OwnershipDraws
from missionsim.money.ownership_cash import (
    NetCash,
    Ownership,
    PricedParts,
    net_cash_of,
    ownership_of,
    priced_parts,
    told_rates,
)
from missionsim.money.prices import Prices
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.ownership_years import OwnedYears, purchase_terms, years_kept
from missionsim.study.replicate.tally import Tally

GROWING_CATEGORIES = tuple(c for c in CATEGORIES if c not in FIXED and c is not Category.INSPECTION)
"""Categories that grow with the trips flown."""


@dataclass(frozen=True)
class Change:
    """What is different from the study as it was flown.

    `scale` by category; `assume` replaces assumptions; `price_usd` paid, by candidate number, with the
    market value held; `trips`: times those flown;
    `own_money_share`: yield of own money, the discount rate too; `years`: kept so long, at most those flown;
    `engine_h`: hours more on the engine bought; `extra_usd` a year, by candidate number. `without_local`: no local
    flying.
    """

    scale: Mapping[Category, float] = field(default_factory=dict)
    assume: Mapping[str, Any] = field(default_factory=dict)
    price_usd: Mapping[int, float] = field(default_factory=dict)
    trips: float = 1.0
    own_money_share: float | None = None
    years: int | None = None
    engine_h: float = 0.0
    extra_usd: Mapping[int, float] = field(default_factory=dict)
    without_local: bool = False


UNCHANGED = Change()
Bought = tuple[CostProfile, YearlyRecords, OwnershipDraws, PurchaseTerms, Prices, Assumptions]
"""What an ownership is worked out from, in the order that `ownership_of` takes it."""


@dataclass(frozen=True)
class Recosted:
    """The flown years of a study, ready to be costed again; overhauls, which other prices do not move, are kept."""

    prepared: Prepared
    tallies: Sequence[Tally]
    overhauled: dict[tuple[Any, ...], Overhauls] = field(default_factory=dict, repr=False, compare=False)
    unpacked: dict[int, OwnedYears] = field(default_factory=dict, repr=False, compare=False)
    unchanged: dict[int, NetCash] = field(default_factory=dict, repr=False, compare=False)

    @property
    def over_years(self) -> bool:
        """Whether each year of an ownership was flown, so that neighbours share years of weather."""
        return self.prepared.study.spec.years > 1

    @property
    def names(self) -> list[str]:
        """Names of the candidates."""
        return [t.name for t in self.tallies]

    def costs(self, change: Change = UNCHANGED) -> Array:
        """Return cost a year by candidate and replication, everything counted. [usd]"""
        return np.stack([self.cost(i, change) for i in range(len(self.tallies))])

    def cost(self, number: int, change: Change = UNCHANGED) -> Array:
        """Return the cost a year of one candidate by replication. [usd]"""
        return self._net(number, change).cost_per_year_usd + change.extra_usd.get(number, 0.0)

    def _net(self, number: int, change: Change) -> NetCash:
        """Return the cash of one candidate; another yield of own money moves none of it, only what it is worth."""
        if replace(change, own_money_share=None, extra_usd={}) != UNCHANGED:
            return self._net_anew(number, change)
        if number not in self.unchanged:
            self.unchanged[number] = self._net_anew(number, UNCHANGED)
        discount, rise = told_rates(self._terms(number, change), self._prices(change), self._assumptions(change))
        return replace(self.unchanged[number], discount_share=discount, rise_share=rise)

    def _net_anew(self, number: int, change: Change) -> NetCash:
        bought = self._purchase(number, change)
        return net_cash_of(*bought, known=self._known(number, change, bought))

    def ownership(self, number: int, change: Change = UNCHANGED) -> Ownership:
        """Return the ownership of one candidate under a change."""
        bought = self._purchase(number, change)
        return ownership_of(*bought, known=self._known(number, change, bought))

    def _known(self, number: int, change: Change, bought: Bought) -> Overhauls | None:
        """Return overhauls as worked out once for all changes that do not move them; None where they may move."""
        if change.assume:
            return None
        key = (number, change.trips, change.engine_h, change.years, change.without_local)
        if key not in self.overhauled:
            flyer, records, draws, terms, _, assumptions = bought
            self.overhauled[key] = overhauls_of(flyer, records, draws, terms, assumptions)
        return self.overhauled[key]

    def parts(self, number: int, change: Change = UNCHANGED) -> PricedParts:
        """Return the ownership of one candidate as sums straight in single prices, for many draws of them at once."""
        return priced_parts(*self._purchase(number, change))

    def _purchase(self, number: int, change: Change) -> Bought:
        draws = self._owned(number).draws
        if change.engine_h:
            draws = replace(draws, more_h=np.full(len(draws.propeller_cost), change.engine_h))
        return (self.prepared.flyers[number].cost, self._records(number, change), draws, self._terms(number, change),
                self._prices(change), self._assumptions(change))

    def _terms(self, number: int, change: Change) -> PurchaseTerms:
        terms = purchase_terms(self.prepared, self.prepared.flyers[number])
        return replace(terms, paid_usd=change.price_usd.get(number),
                       premium_factor=change.scale.get(Category.INSURANCE, 1.0),
                       overhaul_factor=change.scale.get(Category.ENGINE_OVERHAUL, 1.0))

    def _prices(self, change: Change) -> Prices:
        prices, share = self.prepared.prices, change.own_money_share
        return prices if share is None else replace(prices, own_money_share_per_year=share)

    def _owned(self, number: int) -> OwnedYears:
        if number not in self.unpacked:
            self.unpacked[number] = self.tallies[number].owned
        return self.unpacked[number]

    def flight_hours(self, number: int) -> float:
        """Return mean flight hours a year as flown."""
        return float(self.tallies[number].column("flight_hours").mean())

    def _assumptions(self, change: Change) -> Assumptions:
        a = self.prepared.study.assumptions
        return a.supposed(change.assume) if change.assume else a

    def local_usd(self, number: int) -> Array:
        """Return what local flying adds to the cost a year of one candidate: fuel, wear, overhauls nearer, value. [usd]

        By replication; an hour of it wears like any other, its fuel is its own.
        """
        if not self.tallies[number].column("local_hours").any():
            return np.zeros(len(self.tallies[number].replications))
        return self.cost(number) - self.cost(number, Change(without_local=True))

    def _records(self, number: int, change: Change) -> YearlyRecords:
        """Return the records of the years kept with their categories scaled."""
        records = self._owned(number).records
        if change.without_local:
            records = self._without_local(number, records)
        kept = change.years or years_kept(self.prepared)
        if not change.scale and change.trips == 1.0:
            return records.kept(kept)
        cash = records.cash_cents.astype(np.float64)
        for category, by in change.scale.items():
            cash[:, :, CODE[category]] *= by
        for category in GROWING_CATEGORIES:
            cash[:, :, CODE[category]] *= change.trips
        hours, trips, seat_nm = (values * change.trips for values in (
            records.flight_hours, records.completed_trips, records.seat_nm))
        # A single flown year is scaled before it stands for all.
        scaled = YearlyRecords(hours, trips, seat_nm, np.rint(cash).astype(np.int64))
        return scaled.kept(kept)

    def _without_local(self, number: int, records: YearlyRecords) -> YearlyRecords:
        """Return the records without local flying, which is about the same in each year kept."""
        part, cash = self.tallies[number], records.cash_cents.astype(np.float64)

        def left(local: str, every: Array) -> Array:
            gone = np.broadcast_to(part.column(local)[:, None], every.shape)
            return 1.0 - np.divide(gone, every, out=np.zeros(every.shape), where=every > 0.0).clip(0.0, 1.0)

        hours = left("local_hours", records.flight_hours)
        fuel = left("local_fuel_gal", np.broadcast_to(part.column("fuel_gal")[:, None], hours.shape))
        for category in HOURLY:
            cash[:, :, CODE[category]] *= fuel if category is Category.FUEL else hours
        return replace(records, flight_hours=records.flight_hours * hours, cash_cents=np.rint(cash).astype(np.int64))
