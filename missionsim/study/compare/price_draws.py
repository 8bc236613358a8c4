"""Prices nobody gave, drawn together and laid over the flown years: the same years cost again under each draw.

A price is a factor that all aircraft share (market, pilot, shop, field) times one of its own. Of what single events
cost (a fault, an overhaul) the level is drawn here and what differs from one to the next with the years. What the study
gives or overrides is a point, unless it gives a range.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from zlib import crc32

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_cdf, normal_quantile, skewed_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.money.cost_profile import CostProfile
from missionsim.money.ownership_cash import price_factor
from missionsim.money.prices import EVENT_PRICES, low_likely_high
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.alternatives import NONE, RENT, Alternative
from missionsim.study.compare.recost import Recosted
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.ownership_years import years_kept
from missionsim.study.replicate.rented_year import rental_rate

DRAWS = 1_000
"""Draws of all prices laid over the flown years; what the layer means, as the level of an interval is."""
MOST_CELLS = 4_000_000
"""Years times draws held at once; more years take fewer draws each."""
MARKET = frozenset({"ownership.sales_tax_share", "ownership.inspections", "ownership.instructor_usd_per_h",
                    "ownership.own_money_share", "ownership.title_usd"})
"""Prices that are the same for every aircraft one looks at."""
CAR, AIRLINE = "cost.car_usd_per_sm", "cost.airline_fare_usd"
GIVEN_BY: Mapping[str, tuple[str, ...]] = {
    "fuel_usd_per_gal": ("cost.fuel_usd_per_gal",), "oil_usd_per_quart": ("cost.oil_usd_per_quart",),
    "labor_usd_per_h": ("cost.labor_usd_per_h",), "hangar_usd_per_month": ("cost.hangar_usd_per_month",),
    "tiedown_usd_per_month": ("cost.tie_down_usd_per_month",),
    "insurance_usd_per_year": ("insurance.hull_share", "insurance.liability_usd"),
    "subscriptions_usd_per_year": ("cost.databases_usd", "cost.weather_usd", "cost.instrument_checks_usd"),
    "training_usd_per_year": ("cost.training_usd",), "property_tax_usd_per_year": ("cost.property_tax_usd",),
    "miscellaneous_usd_per_year": ("cost.sundries_usd",), "landing_fee_usd": ("cost.landing_fee_usd",),
    "overnight_parking_usd": ("cost.overnight_fee_usd",), "hotel_usd_per_night": ("cost.hotel_usd_per_night",),
    "own_money_share_per_year": ("cost.own_money_share",)}
"""Assumptions that a price of the study stands for."""


@dataclass(frozen=True)
class Priced:
    """Costs of all alternatives under draws of the prices nobody gave.

    Parameters
    ----------
    names : tuple of str            Candidates, then renting where it can be had, then no aircraft.
    cost : (k, years, draws) array  Cost a year. [usd]
    factors : mapping               By candidate and assumption: its factor in each draw.
    """

    names: tuple[str, ...]
    cost: Floats
    factors: Mapping[tuple[str, str], Floats]

    @cached_property
    def by_year(self) -> Floats:
        """Mean over price draws, (k, years)."""
        return np.asarray(self.cost.mean(axis=2))

    @cached_property
    def by_draw(self) -> Floats:
        """Mean over years, (k, draws)."""
        return np.asarray(self.cost.mean(axis=1))


def priced(recosted: Recosted, others: Sequence[Alternative], count: int = DRAWS) -> Priced:
    """Cost the flown years of candidates, renting and no aircraft again under draws of all prices.

    Parameters
    ----------
    recosted : Recosted
    others : sequence of Alternative   All alternatives, the candidates first.
    count : int                        Draws.
    """
    p, years = recosted.prepared, len(recosted.tallies[0].replications)
    count = _draws(count, years)
    names: list[str] = []
    priced_in = [one for one in others if one.kind in {RENT, NONE}]
    cost = np.empty((len(recosted.tallies) + len(priced_in), years, count))
    factors: dict[tuple[str, str], Floats] = {}
    market = _market(p, count)
    for number, part in enumerate(recosted.tallies):
        cost[number], own = _candidate(recosted, number, market, count)
        names.append(part.name)
        factors |= {(part.name, key): value for key, value in (own | market).items()}
    for one in priced_in:
        cost[len(names)] = one.net_usd[:, None] + _travel_of(one, market) + _rent(p, one, count)
        names.append(one.name)
    return Priced(tuple(names), cost, factors)


def means_at_common_share(recosted: Recosted, share: float) -> Floats:
    """Return mean costs of candidates by draw, (k, draws), were so much of a price's log variance the same for all.

    Parameters
    ----------
    recosted : Recosted
    share : float        In place of `statistics.common_price_share`; 0 lets aircraft differ wholly, 1 not at all.
    """
    p = recosted.prepared
    supposed = p.study.assumptions.supposed({"statistics.common_price_share": share})
    found = replace(p, study=replace(p.study, assumptions=supposed))
    supposing, count = replace(recosted, prepared=found), _draws(DRAWS, len(recosted.tallies[0].replications))
    market = _market(found, count)
    # One candidate at a time: the costs of all are not wanted, and are 32 MB of 1,000 years.
    return np.stack([_candidate(supposing, number, market, count)[0].mean(axis=0)
                     for number in range(len(recosted.tallies))])


def _draws(count: int, years: int) -> int:
    """Return how many draws there is room for."""
    return max(20, min(count, MOST_CELLS // max(years, 1)))


def _market(prepared: Prepared, count: int) -> dict[str, Floats]:
    """Return the factors of travelling otherwise in each draw."""
    drawn = drawn_prices(prepared)
    return {key: _factor(prepared.study, key, "", "", count, 1) if key in drawn else np.ones(count)
            for key in (CAR, AIRLINE)}


def _candidate(recosted: Recosted, number: int, market: Mapping[str, Floats], count: int,
               ) -> tuple[Floats, dict[str, Floats]]:
    """Return the costs of one candidate, (years, draws), and its own prices' factors in each draw."""
    p, part = recosted.prepared, recosted.tallies[number]
    flyer, parts = p.flyers[number], recosted.parts(number)
    own = {key: _factor(p.study, key, klass_of(p.study.assumptions, key, flyer.cost),
                        flyer.candidate.profile.name, count, years_kept(p))
           for key in sorted({k for keys in parts.prices for k in keys} & drawn_prices(p))}
    travel = _travel(part.column("car_usd"), part.column("airline_usd"), market)
    return parts.costs(own | {"": np.ones(count)}) + travel, own


def drawn_prices(prepared: Prepared) -> frozenset[str]:
    """Return the assumptions that are drawn: with a range, and neither given nor overridden by a point."""
    study = prepared.study
    given = {key for name in study.spec.prices.model_dump(exclude_none=True, exclude_unset=True)
             for key in GIVEN_BY.get(name, ())}
    return frozenset(a.key for a in study.assumptions if a.low is not None and a.high is not None
                     and (a.ranged or not a.overridden) and (a.ranged or a.key not in given))


def of_market(key: str) -> bool:
    """Tell whether a price is one of the market, the field or the pilot: the same factor for every aircraft."""
    return key in MARKET or key.startswith(("cost.", "keeping."))


def klass_of(assumptions: Assumptions, key: str, cost: CostProfile) -> str:
    """Return which entry of a table of prices an aircraft takes; empty for a single price."""
    value = assumptions.entry(key).value
    if not isinstance(value, dict):
        return ""
    known = [name for name in (cost.klass, cost.engine, cost.propeller) if name in value]
    return known[0] if known else ""


def _factor(study: Study, key: str, klass: str, advertisement: str, count: int, years: int) -> Floats:
    """Return the factor of a price in each draw, 1 at its likely value."""
    a = study.assumptions
    if isinstance(a.entry(key).value, dict) and not klass:
        return np.ones(count)
    low, likely, high = low_likely_high(a, key, klass)
    common = 1.0 if of_market(key) else a["statistics.common_price_share"]
    z = _normals(study.seed, count, crc32(key.encode())) * np.sqrt(common)
    if common < 1.0:
        z = z + _normals(study.seed, count, crc32(key.encode()), crc32(advertisement.encode())) * np.sqrt(1.0 - common)
    z = z * np.sqrt(a["statistics.event_level_share"]) if key in EVENT_PRICES else z
    if low == high or (likely == 0.0 and not key.endswith("value_drift_share")):
        return np.ones(count)
    return np.maximum(price_factor(key, price_at(z, low, likely, high), likely, years), 0.0)


def price_at(z: Floats, low: float, likely: float, high: float) -> Floats:
    """Return a price at standard normal deviates: its 10, 50 and 90 % points are the three values.

    Log-normal in two halves where all are above zero, as figures of a listing are; else normal in two halves.

    Parameters
    ----------
    z : array        Standard normal deviates.
    low : float      10 % point.
    likely : float   Median.
    high : float     90 % point.
    """
    if low > 0.0:
        return skewed_quantile(normal_cdf(z), low, likely, high)
    width = np.where(z < 0.0, likely - low, high - likely) / float(normal_quantile(0.9))
    return np.asarray(likely + z * width)


def _normals(seed: int, count: int, *address: int) -> Floats:
    return generator(seed, 0, Stream.PRICE_DRAWS, *address).standard_normal(count)


def _travel(car_usd: Floats, airline_usd: Floats, market: Mapping[str, Floats]) -> Floats:
    return np.asarray(car_usd[:, None] * (market[CAR] - 1.0) + airline_usd[:, None] * (market[AIRLINE] - 1.0))


def _travel_of(one: Alternative, market: Mapping[str, Floats]) -> Floats:
    return _travel(one.car_usd, one.travel_usd - one.car_usd, market)


def _rent(prepared: Prepared, one: Alternative, count: int) -> Floats:
    if one.kind != RENT or prepared.rental is None:
        return np.zeros((1, count))
    flyer = prepared.rental.flyers[0]
    key, klass = rental_rate(flyer)
    if key not in drawn_prices(prepared):
        return np.zeros((1, count))
    factor = _factor(prepared.study, key, klass, flyer.candidate.profile.name, count, 1)
    return np.asarray(one.rent_usd[:, None] * (factor - 1.0))


def value_of_knowing(priced_costs: Priced, name: str | None, key: str, serving: Sequence[str],
                     parts_usd: Mapping[str, float]) -> float:
    """Return what it saves in the mean year to know one price of one aircraft before choosing. [usd]

    Recost at the price's value, the others averaged. What it tells of the part that all aircraft share moves the same
    price of the others too, along a straight line through their draws.

    Parameters
    ----------
    name : str or None         Whose price; None: that of all aircraft.
    key : str                  The assumption.
    serving : sequence of str  Among whom one chooses.
    parts_usd : mapping        By candidate, its mean cost that is straight in the price. [usd]
    """
    means = {n: exact_mean(priced_costs.by_draw[priced_costs.names.index(n)]) for n in serving}
    told, known = None if name is None else priced_costs.factors.get((name, key)), []
    for other in serving:
        usd, factor = parts_usd.get(other, 0.0), priced_costs.factors.get((other, key))
        about = np.zeros(1) if factor is None else factor - factor.mean()
        if told is not None and other != name:
            own = told - told.mean()
            about = own * float(own @ about) / float(own @ own) if factor is not None and np.any(own) else np.zeros(1)
        known.append(means[other] + usd * about)
    table = np.stack(np.broadcast_arrays(*known))
    return max(0.0, min(means.values()) - exact_mean(table.min(axis=0)))
