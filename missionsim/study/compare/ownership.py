"""Owning over several years: cash by year, net present cost, worst cases, resale, and which candidate costs least."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.money.cash_items import loan_by_year
from missionsim.money.categories import CATEGORIES, CODE, Category
from missionsim.money.cost_profile import CostProfile
from missionsim.money.operating_costs import reserve_usd
from missionsim.money.ownership_cash import Ownership
from missionsim.statistics.comparisons import probability_best
from missionsim.statistics.intervals import Measure, exact_mean, mean_interval, measure, ratio_measure, year_points
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Entrant, Prepared
from missionsim.study.replicate.one_year import CHUNK
from missionsim.study.replicate.ownership_years import OwnedYears, bought, first_quote, purchase_terms, years_kept

LEAST_BATCHES = 8
"""Batches of ownerships below which neither intervals nor chances are told: 80 ownerships."""


@dataclass(frozen=True)
class Owned:
    """Several years of one candidate.

    `by_year`: one entry a year from 0, the purchase, with `cash_usd`, `flight_hours`, `completed_trips`, `reserve_usd`
    (the reserve view, no part of the cash), the share of ownerships with an engine overhaul, and mean cash by category.
    Measures are `mean, low, high, p10, p50, p90`, over ownerships. `worst_tenth_usd`: mean net present cost of the
    worst tenth. `cash`: what must be at hand beyond the mean plan (`p90_usd`, `p95_usd`, `year` of the most of it).
    `insurance`: what an insurer asks at first: `insurable, why, premium_usd, dual_h`. `loan`: by year, paid, interest,
    principal and owed. `values` by replication.
    """

    name: str
    by_year: tuple[Mapping[str, Any], ...]
    net_present_cost_usd: Measure
    aircraft_present_cost_usd: Measure
    cost_per_year_usd: Measure
    capital_cost_usd: Measure
    cost_per_hour_usd: Measure
    cost_per_completed_trip_usd: Measure
    cost_per_seat_nm_usd: Measure
    resale_usd: Measure
    trips_lost_to_shop: Measure
    worst_tenth_usd: float
    cash: Mapping[str, float]
    engine_overhaul_share: float
    early_overhaul_share: float
    insurance: Mapping[str, Any]
    loan: tuple[Mapping[str, float], ...]
    values: Ownership

    def summary(self) -> dict[str, Any]:
        """Return all but the years and the single ownerships, as plain objects."""
        return {f.name: getattr(self, f.name) for f in fields(self) if f.name not in {"name", "by_year", "values"}}

    @property
    def yearly(self) -> Array:
        """Equal yearly cost by replication, everything counted: what one chooses by. [usd]"""
        return self.values.cost_per_year_usd


@dataclass(frozen=True)
class Ownerships:
    """All candidates over the years kept, and in which share of ownerships each costs least, at likely prices."""

    years: int
    owned: tuple[Owned, ...]
    probability_best: Mapping[str, float | None]


def ownerships(prepared: Prepared, flown: Sequence[OwnedYears]) -> Ownerships:
    """Return the ownerships of a study, one entry of `flown` a candidate."""
    study = prepared.study
    owned = tuple(_owned(entrant, one) for entrant, one in zip(prepared.entrants, flown, strict=True))
    names, costs = [o.name for o in owned], np.stack([o.yearly for o in owned])
    enough = independent(study, costs).shape[1] >= least_rows(study)
    best = probability_best(costs)
    return Ownerships(years_kept(prepared), owned, {name: share if enough else None
                                                    for name, share in zip(names, best, strict=True)})


def least_rows(study: Study) -> int:
    """Return how many independent years, or batches of ownerships, a claim needs."""
    return LEAST_BATCHES if study.spec.years > 1 else 2


def independent(study: Study, values: Array) -> Array:
    """Return costs [candidate, replication] as intervals take them: batches where neighbours share years of weather."""
    return np.stack([batch_means(row) for row in values]) if study.spec.years > 1 else values


def batch_means(values: Array) -> Array:
    """Return means over batches of ten ownerships, those that share weather years; the last batch may be smaller."""
    size = len(values)
    return np.array([exact_mean(values[i:i + CHUNK]) for i in range(0, size, CHUNK)])


def batched(values: Array) -> Measure:
    """Return a measure whose interval rests on batches: neighbouring ownerships share years of weather."""
    found = measure(values)
    whole = np.array([exact_mean(values[i:i + CHUNK]) for i in range(0, len(values) - CHUNK + 1, CHUNK)])
    if len(whole) < LEAST_BATCHES:
        return found | {"low": None, "high": None}
    _, low, high = mean_interval(whole)
    shift = exact_mean(values) - exact_mean(whole)  # an unfinished batch counts in the mean, not in its interval
    return found | {"low": None if low is None else low + shift, "high": None if high is None else high + shift}


def _batched_ratio(top: Array, bottom: Array) -> Measure:
    years = year_points(np.asarray(top / np.where(bottom > 0.0, bottom, np.nan))[bottom > 0.0])
    found = ratio_measure(batch_means(top), batch_means(bottom))
    return found | dict(zip(("p10", "p50", "p90"), years, strict=True))


def _owned(entrant: Entrant, flown: OwnedYears) -> Owned:
    prepared, flyer, values = entrant.prepared, entrant.flyer, bought(entrant, flown)
    found, a = first_quote(prepared, flyer), prepared.study.assumptions
    years = values.years
    own_usd = values.aircraft_present_cost_usd * values.payment_share

    def per(name: str) -> Measure:
        return _batched_ratio(own_usd, getattr(flown.records, name).mean(axis=1))

    return Owned(
        flyer.candidate.name, tuple(_year(values, year, flyer.cost, a) for year in range(years + 1)),
        net_present_cost_usd=batched(values.net_present_cost_usd),
        aircraft_present_cost_usd=batched(values.aircraft_present_cost_usd),
        cost_per_year_usd=batched(values.cost_per_year_usd), capital_cost_usd=batched(values.capital_cost_usd),
        cost_per_hour_usd=per("flight_hours"), cost_per_completed_trip_usd=per("completed_trips"),
        cost_per_seat_nm_usd=per("seat_nm"),
        resale_usd=batched(-values.cash_cents[:, -1, CODE[Category.RESALE]] / 100.0),
        trips_lost_to_shop=batched(flown.trips_lost.sum(axis=1)),
        worst_tenth_usd=worst_tenth(values.net_present_cost_usd), cash=cash_at_hand(values),
        engine_overhaul_share=float((values.overhauls.engine_usd > 0.0).any(axis=1).mean()),
        early_overhaul_share=float(values.overhauls.early.any(axis=1).mean()),
        insurance=found.entry, loan=tuple(loan_by_year(flyer.cost, purchase_terms(prepared, flyer), years, a)),
        values=values)


def _year(values: Ownership, year: int, cost: CostProfile, assumptions: Assumptions) -> dict[str, Any]:
    cash = values.cash_cents[:, year]
    categories = {str(c): float(cash[:, i].mean() / 100.0) for i, c in enumerate(CATEGORIES) if cash[:, i].any()}
    entry: dict[str, Any] = {"year": year, "cash_usd": batched(cash.sum(axis=1) / 100.0)}
    if year:
        records, y = values.records, year - 1
        entry |= {"flight_hours": batched(records.flight_hours[:, y]),
                  "completed_trips": batched(records.completed_trips[:, y]),
                  "reserve_usd": batched(reserve_usd(cost, records.flight_hours[:, y], assumptions)),
                  "engine_overhaul_share": float((values.overhauls.engine_usd[:, y] > 0.0).mean()),
                  "propeller_overhaul_share": float((values.overhauls.propeller_usd[:, y] > 0.0).mean())}
    return entry | {"categories_usd": categories}


def worst_tenth(values: Array) -> float:
    """Return the mean of the worst tenth of ownerships, one at least: the year the engine lets go lies in there."""
    count = max(1, len(values) // 10)
    return exact_mean(np.sort(values)[-count:])


def cash_at_hand(values: Ownership) -> dict[str, float]:
    """Return how much cash beyond the mean plan an owner must hold, and the year in which most of it is needed.

    By ownership: the most that spending from the first year on, before any sale, has run ahead of its mean.
    """
    spent = values.by_year_cents[:, 1:] / 100.0
    spent[:, -1] -= values.cash_cents[:, -1, CODE[Category.RESALE]] / 100.0
    ahead = np.cumsum(spent - spent.mean(axis=0), axis=1)
    most = np.maximum(ahead.max(axis=1), 0.0)
    worst = most >= np.quantile(most, 0.9)
    year = int(np.bincount(ahead.argmax(axis=1)[worst], minlength=spent.shape[1]).argmax()) + 1
    return {"p90_usd": float(np.quantile(most, 0.90)), "p95_usd": float(np.quantile(most, 0.95)), "year": year}
