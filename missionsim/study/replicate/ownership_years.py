"""Fly the years of an ownership, and lay what buying, keeping and selling cost over a flown year.

Where a study looks at one year, each flown year stands for all the years kept. Where it looks at several, each is flown
with its own luck, the engine growing older, the first one starting late: ownership r flies the simulated weather of
years r, r + 1, ... A year of weather thus serves several ownerships, at another age of the aircraft and with other
luck each time; drawn figures of the listing stay with the ownership. That costs a part of the weather that years of
their own would, and makes neighbouring ownerships alike in weather: intervals are therefore taken over batches of ten.
Trips are the same in every year.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any
from zlib import crc32

import numpy as np

from missionsim.aircraft.upgrades import catalogue
from missionsim.base.arrays import Array, Columns, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import skewed_at, skewed_deviate, skewed_quantile
from missionsim.base.streams import generator, uniforms
from missionsim.base.words import Outcome, Reason, Shop, Stream
from missionsim.money.entries import month_ends
from missionsim.money.insurance import Quote, quote
from missionsim.money.ledger import ledger_of
from missionsim.money.overhauls import OwnershipDraws, engines_of, propeller_due, propeller_life_years
from missionsim.money.ownership_cash import Ownership, ownership_of
from missionsim.money.prices import low_likely_high
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords
from missionsim.study.prepare.study import Entrant, Flyer, Prepared
from missionsim.study.replicate.one_year import (
    Day,
    FlownChunk,
    KeptWeather,
    YearColumns,
    again,
    columns_of,
    drawn_effects,
    fly_parts,
    habits_of,
    people_of,
    together,
    weather_of,
    year_of,
)
from missionsim.study.unknowns.draws import WORDS, stratified
from missionsim.study.unknowns.effects import Effects, effects_of
from missionsim.study.unknowns.upkeep import DAY_H, YEAR_MONTHS, wear
from missionsim.year.aircraft import Upkeep

OVERHAULS_DRAWN = 3
"""Engine overhauls drawn ahead for an ownership."""
FIRST_GUESS_H = 100.0
"""Hours a year by which the first year judges whether an engine stands idle."""


@dataclass(frozen=True, slots=True)
class OwnedYears:
    """What ownerships of one candidate leave behind: records by replication and year, and the luck of their engines.

    `trips_lost`: trips refused or broken off because the aircraft was not there (shop, training).
    """

    records: YearlyRecords
    draws: OwnershipDraws
    trips_lost: Array


def joined_years(parts: Sequence[OwnedYears]) -> OwnedYears:
    """Return the ownerships of several chunks in order."""
    def stack(kind: type, items: Sequence[Any]) -> Any:
        values = {f.name: [getattr(x, f.name) for x in items] for f in fields(kind)}
        return kind(**{name: None if v[0] is None else np.concatenate(v) for name, v in values.items()})

    return OwnedYears(stack(YearlyRecords, [p.records for p in parts]), stack(OwnershipDraws, [p.draws for p in parts]),
                      np.concatenate([p.trips_lost for p in parts]))


def fly_owned(prepared: Prepared, replications: Sequence[int], people_lb: Array | None = None,
              also: Callable[[Day, int], None] | None = None) -> list[tuple[FlownChunk, OwnedYears]]:
    """Fly all candidates through a chunk, each year with its part of the ownership.

    Parameters
    ----------
    prepared : Prepared
    replications : sequence of int   In rising order.
    people_lb : array, optional      As `people_of` gives them, where they are known already.
    also : callable, optional        Called with the day of each first year, for what else is flown in its weather.

    Returns
    -------
    list of (FlownChunk, OwnedYears)
        One a candidate. The ledger of the first is the flown year's, of the first year in studies over several, with
        entries for what a year bears of the rest.
    """
    if prepared.study.spec.years > 1:
        flown, owned = _fly_years(prepared, replications, also)
    else:
        effects = drawn_effects(prepared, replications)
        people_lb = people_of(prepared, replications) if people_lb is None else people_lb
        parts = fly_parts(prepared, replications, effects, people_lb, also)
        return priced_years(prepared, parts, replications, effects)
    return _with_ownership(prepared, flown, owned, replications)


def priced_years(prepared: Prepared, parts: Sequence[YearColumns], replications: Sequence[int],
                 effects: Sequence[Effects]) -> list[tuple[FlownChunk, OwnedYears]]:
    """Return flown single years, by candidate, with their ledger and ownership at the study's prices.

    Parameters
    ----------
    parts : sequence by candidate    Flights, trips and shop visits of these replications.
    replications : sequence of int   In rising order.
    effects : sequence of Effects    As `drawn_effects` gives them.
    """
    flown = [together(entrant, years, replications, own)
             for entrant, years, own in zip(prepared.entrants, parts, effects, strict=True)]
    owned = [_standing_for_all(prepared, f, one, replications)
             for f, one in zip(prepared.flyers, flown, strict=True)]
    return _with_ownership(prepared, flown, owned, replications)


def _with_ownership(prepared: Prepared, flown: Sequence[FlownChunk], owned: Sequence[OwnedYears],
                    replications: Sequence[int]) -> list[tuple[FlownChunk, OwnedYears]]:
    """Return flown years with entries for what a year bears of the rest of the ownership."""
    last = month_ends(prepared.table.year)[-1] - 1
    reps = np.array(replications, dtype=np.int64)
    out = []
    for entrant, one, years in zip(prepared.entrants, flown, owned, strict=True):
        whole = one.ledger.spread(reps, bought(entrant, years).year_cents, int(last))
        out.append((replace(one, ledger=whole), years))
    return out


def years_kept(prepared: Prepared) -> int:
    """Return the years from purchase to sale: those flown, or those that one flown year stands for."""
    spec = prepared.study.spec
    if spec.years > 1:
        return int(spec.years)
    return int(spec.years_kept or prepared.study.assumptions["ownership.years_kept"])


def purchase_terms(prepared: Prepared, flyer: Flyer) -> PurchaseTerms:
    """Return how a candidate of a study is bought and kept by its one owner."""
    return PurchaseTerms(pilot=flyer.experience, dual_h=first_quote(prepared, flyer).dual_h,
                         nominal=prepared.study.spec.dollars == "nominal")


def bought(entrant: Entrant, years: OwnedYears) -> Ownership:
    """Return the cash of one candidate's ownerships."""
    prepared, flyer = entrant.prepared, entrant.flyer
    records, terms = years.records.kept(years_kept(prepared)), purchase_terms(prepared, flyer)
    return ownership_of(flyer.cost, records, years.draws, terms, prepared.prices, prepared.study.assumptions)


def _standing_for_all(prepared: Prepared, flyer: Flyer, flown: FlownChunk, replications: Sequence[int]) -> OwnedYears:
    """Return ownerships of one flown year each."""
    reps = np.array(replications, dtype=np.int64)
    row = np.searchsorted(reps, flown.flights["replication"])
    hours: Array = np.bincount(row, flown.flights["flight_h"], len(reps)).astype(np.float64)
    done, seat_nm, lost = (f(flown, reps)[:, None] for f in (_completed, _seat_nm, _lost))
    records = YearlyRecords(hours[:, None], done, seat_nm, flown.ledger.by_category(reps)[:, None, :])
    return OwnedYears(records, ownership_draws(flyer, flown.effects, prepared.study.seed, replications), lost)


def _fly_years(prepared: Prepared, replications: Sequence[int], also: Callable[[Day, int], None] | None,
               ) -> tuple[list[FlownChunk], list[OwnedYears]]:
    """Fly each year of the ownerships; the first of each, as a one-year study has it, and the whole, by candidate."""
    years = prepared.study.spec.years
    habits = [habits_of(prepared, replications, year) for year in range(years)]
    keepers = [_Keeper(entrant, list(replications), years) for entrant in prepared.entrants]
    for simulated in range(replications[0], replications[-1] + years):
        own_years = [(i, simulated - r) for i, r in enumerate(replications) if 0 <= simulated - r < years]
        if not own_years:
            continue
        day, kept = weather_of(prepared, simulated), KeptWeather()
        for i, year in own_years:
            own = day if year == 0 else replace(day, luck=wear(prepared.study.seed, replications[i], year),
                                                habits=habits[year][i])
            for keeper in keepers:
                keeper.fly(own, i, year, kept)
        if also is not None and simulated in replications:
            also(day, simulated)
    return [k.flown() for k in keepers], [k.owned() for k in keepers]


def ownership_draws(flyer: Flyer, effects: Effects, seed: int, replications: Sequence[int]) -> OwnershipDraws:
    """Return the luck of an aircraft's engines and its drawn state; addressed by aircraft, not by candidate.

    Parameters
    ----------
    flyer : Flyer
    effects : Effects                What the drawn figures do.
    seed : int                       Of the study.
    replications : sequence of int   In rising order.
    """
    cost, drawn, name = flyer.cost, effects.drawn, flyer.candidate.profile.name
    address = crc32(name.encode())
    luck = uniforms(seed, np.array(replications), Stream.ENGINE, address, count=2 * OVERHAULS_DRAWN + 2)
    life = luck[:, :OVERHAULS_DRAWN].copy()
    life[:, 0] = stratified(seed, replications, name, "engine life")
    year = drawn.listing.year
    kinds = drawn.values.get("engine.overhaul_kind")
    words = np.array(WORDS["engine.overhaul_kind"], dtype=object)
    price = drawn.values.get("prices.asking_price_usd")
    pace = drawn.number("state.hours_flown_per_year_h", drawn.listing.assumptions["engine_life.unknown_hours_per_year"])
    found = OwnershipDraws(
        life, luck[:, OVERHAULS_DRAWN:2 * OVERHAULS_DRAWN], luck[:, -2],
        drawn.number("engine.hours_since_overhaul_h", cost.hours_since_overhaul_h),
        np.maximum(year - drawn.number("engine.overhaul_year", year - cost.years_since_overhaul), 0.0),
        drawn.number("propeller.hours_since_overhaul_h", cost.propeller_hours_h),
        np.maximum(year - drawn.number("propeller.overhaul_year", year - cost.propeller_years), 0.0),
        luck[:, -1], effects.catch_up_usd,
        None if kinds is None else words[kinds.astype(np.int64)],
        np.asarray(pace < drawn.listing.assumptions["engine_life.idle_hours"]), effects.value_lost_share,
        drawn.values.get("engine.tbo_h"), None if price is None else price / cost.asking_price_usd,
        *_second_engine(flyer, effects, seed, replications))
    return replace(found, **_lives(flyer, effects, seed, replications))


def _lives(flyer: Flyer, effects: Effects, seed: int, replications: Sequence[int]) -> dict[str, Any]:
    """Return how long engines stay sound, turbochargers last and propellers resist corrosion, by field of the draws.

    Exposed engines, the one bought by its former life and later ones by where it is kept, stay sound for less long.
    """
    a, drawn, name = effects.drawn.listing.assumptions, effects.drawn, flyer.candidate.profile.name
    state = flyer.candidate.profile.state
    coastal, sheltered = (drawn.answer(f"state.{key}") for key in ("coastal", "hangared"))
    exposed = np.zeros((len(replications), OVERHAULS_DRAWN), dtype=np.bool_)
    exposed[:, 0] = (state.coastal is True if coastal is None else coastal) | (
        state.hangared is False if sheltered is None else ~sheltered)
    exposed[:, 1:] = not flyer.cost.hangared
    share = np.where(exposed, a["engine_life.exposed_life_share"], 1.0)

    def life(z: Array, key: str) -> Array:
        return skewed_at(z, *low_likely_high(a, f"engine_life.{key}"))

    twin = flyer.cost.engines > 1
    parts = ["engine", "turbocharger", "propeller", *(("second engine", "second turbocharger") if twin else ())]
    address = np.array([[crc32(f"{name}|{part}".encode())] for part in parts])
    luck = uniforms(seed, np.array(replications), Stream.AGEING, address, count=OVERHAULS_DRAWN)
    first, turbo, propeller, *second = skewed_deviate(luck).reshape(len(parts), len(replications), OVERHAULS_DRAWN)
    found = {"calendar_years": life(first, "calendar_years") * share,
             "turbo_life_h": life(turbo[:, 0], "turbo_life_h"),
             "propeller_life_years": life(propeller[:, 0], "propeller_years")}
    if not twin:
        return found
    return found | {"second_calendar_years": life(second[0], "calendar_years") * share,
                    "second_turbo_life_h": life(second[1][:, 0], "turbo_life_h")}


def _second_engine(flyer: Flyer, effects: Effects, seed: int, replications: Sequence[int],
                   ) -> tuple[Array, Array, Array] | tuple[None, None, None]:
    """Return life, price and hours of the second engine of a twin; nothing in a single."""
    cost = flyer.cost
    if cost.second_engine_h is None:
        return None, None, None
    address = crc32(f"{flyer.candidate.profile.name}|second engine".encode())
    luck = uniforms(seed, np.array(replications), Stream.ENGINE, address, count=2 * OVERHAULS_DRAWN)
    key = "engine.second_hours_since_overhaul_h"
    first = effects.drawn.number("engine.hours_since_overhaul_h", cost.hours_since_overhaul_h)
    return luck[:, :OVERHAULS_DRAWN], luck[:, OVERHAULS_DRAWN:], effects.drawn.values.get(key, np.full(
        len(replications), cost.second_engine_h) if flyer.candidate.profile.engine.second_hours_since_overhaul_h
        is not None else first)


def first_quote(prepared: Prepared, flyer: Flyer) -> Quote:
    """Return what an insurer would ask of the pilot for this aircraft in the first year."""
    return quote(flyer.cost, flyer.experience, prepared.study.assumptions)


def upgrade_days(flyer: Flyer, assumptions: Assumptions) -> float:
    """Return the days in the shop for the candidate's upgrades; in one visit the shorter ones take a quarter less."""
    known = catalogue(assumptions)
    days = sorted((known[name].downtime_days for name in flyer.candidate.upgrades), reverse=True)
    return float(sum(days[:1]) + 0.75 * sum(days[1:]))


class _Keeper:
    """One candidate through the ownerships of a chunk, a year at a time."""

    def __init__(self, entrant: Entrant, replications: list[int], years: int) -> None:
        self.entrant, self.replications, self.years = entrant, replications, years
        self.prepared = prepared = entrant.prepared
        self.flyer = entrant.flyer
        seed, a = prepared.study.seed, prepared.study.assumptions
        self.effects = effects_of(self.flyer.listing.drawn(seed, replications))
        self.draws = ownership_draws(self.flyer, self.effects, seed, replications)
        self.engines = [engines_of(self.flyer.cost, _row(self.draws, i), a, at_tbo=False, limits_bind=False)
                        for i in range(len(replications))]
        self.propeller_h, self.propeller_years = self.draws.propeller_hours_h.copy(), self.draws.propeller_years.copy()
        self.propeller_life = np.broadcast_to(propeller_life_years(self.draws, a, limits_bind=False),
                                              (len(replications),))
        self.hours = np.full((len(replications), years), FIRST_GUESS_H)
        self.oil_since_h = np.zeros(len(replications))
        self.typical: list[YearColumns] = []
        self.parts: list[list[YearColumns]] = [[] for _ in range(years)]
        self.quote = first_quote(prepared, self.flyer)

    def fly(self, day: Day, i: int, year: int, kept: KeptWeather) -> None:
        """Fly one year of one ownership, in a day with the luck and habits of that year."""
        replication = self.replications[i]
        upkeep = self._upkeep(i, year)
        if year == 0:
            flown = year_of(self.entrant, day, replication, self.effects.at(i), kept=kept)
            self.typical.append(columns_of(self.prepared, flown, replication))
            flown = again(self.entrant, flown, upkeep, day.luck, replication)
        else:
            flown = year_of(self.entrant, day, replication, self.effects.at(i), upkeep, kept=kept)
        columns = columns_of(self.prepared, flown, replication)
        self.parts[year].append(columns)
        hours = float(columns.flights["flight_h"].sum())
        self.hours[i, year], self.oil_since_h[i] = hours, oil_since_h(columns.shop, hours, upkeep.oil_since_h)
        for engine in self.engines[i]:
            engine.fly(np.array([hours]), year)
        self._age_propeller(i, hours)

    def flown(self) -> FlownChunk:
        """Return the first years as a one-year study has them."""
        return together(self.entrant, YearColumns.stacked(self.typical), self.replications, self.effects)

    def owned(self) -> OwnedYears:
        """Return the ownerships."""
        p, reps = self.prepared, np.array(self.replications)
        columns = [YearColumns.stacked(parts) for parts in self.parts]
        ledgers = [ledger_of(self.flyer.cost, c.flights, c.trips, c.shop, reps, p.books(self.flyer)) for c in columns]
        completed, seat_nm, lost = (np.stack([f(c, reps) for c in columns], axis=1)
                                    for f in (_completed, _seat_nm, _lost))
        cash = np.stack([ledger.by_category(reps) for ledger in ledgers], axis=1)
        return OwnedYears(YearlyRecords(self.hours, completed, seat_nm, cash), self.draws, lost)

    def _upkeep(self, i: int, year: int) -> Upkeep:
        a, seed = self.prepared.study.assumptions, self.prepared.study.seed
        rule = self.effects.at(i).upkeep_rule(self.flyer.upkeep)
        if year:
            rule = replace(rule, oil_since_h=float(self.oil_since_h[i]),
                           months_since_annual=_same_month(rule.months_since_annual))
        upkeep = rule.upkeep(seed, self.replications[i], year)
        expected = self.hours[i, max(year - 1, 0)]
        left_h = min(float(engine.left_h(np.array([expected]))[0]) for engine in self.engines[i])
        address = crc32(self.flyer.candidate.profile.name.encode())
        ranks = generator(seed, self.replications[i], Stream.ENGINE, address, year + 1).random(2)
        down = [float(skewed_quantile(u, *low_likely_high(a, f"maintenance.{key}")))
                for u, key in zip(ranks, ("overhaul_days", "propeller_overhaul_days"), strict=True)]
        annual_h = upkeep.annual_down_h
        if self._propeller_due(i, expected):
            annual_h = max(annual_h, DAY_H * down[1])
        upkeep = replace(upkeep, overhaul_due_h=max(left_h, 0.0), overhaul_down_h=DAY_H * down[0],
                         annual_down_h=annual_h)
        return upkeep if year else self._late(upkeep)

    def _late(self, upkeep: Upkeep) -> Upkeep:
        """Return the upkeep of the first year: at first upgrades are built in and the pilot learns the aircraft."""
        a = self.prepared.study.assumptions
        shop, dual = upgrade_days(self.flyer, a), self.quote.dual_h * a["keeping.training_days_per_dual_h"]
        days = shop + max(dual, a["keeping.training_days_least"])
        return replace(upkeep, available_from_h=DAY_H * days,
                       available_reason=Reason.MAINTENANCE if shop > dual else Reason.CURRENCY)

    def _propeller_due(self, i: int, hours: float) -> bool:
        a = self.prepared.study.assumptions
        return bool(propeller_due(self.propeller_h[i] + hours, self.propeller_years[i] + 1.0, hours,
                                  self.propeller_life[i], a))

    def _age_propeller(self, i: int, hours: float) -> None:
        due = self._propeller_due(i, hours)
        self.propeller_h[i] = 0.0 if due else self.propeller_h[i] + hours
        self.propeller_years[i] = 0.0 if due else self.propeller_years[i] + 1.0


def oil_since_h(shop: Columns, flown_h: float, before_h: float) -> float:
    """Return the hours since the oil change at the end of a year; every planned visit to the shop changes the oil. [h]

    Parameters
    ----------
    shop : Columns      Visits of the year, named as in `ShopRow`.
    flown_h : float     Flown in it.
    before_h : float    Since the change when it began.
    """
    changed_h = np.asarray(shop["flight_hours"])[np.asarray(shop["kind"]) != Shop.FAULT.value]
    return float(flown_h - changed_h.max()) if len(changed_h) else before_h + flown_h


def _same_month(months_since: float | None) -> float | None:
    """Return the months since the annual a year on, when it is done in the same month again."""
    return None if months_since is None else min(months_since, YEAR_MONTHS - 0.5)


def _row(draws: OwnershipDraws, i: int) -> OwnershipDraws:
    given = {f.name: getattr(draws, f.name) for f in fields(OwnershipDraws)}
    values: dict[str, Any] = {name: None if v is None else v[i:i + 1] for name, v in given.items()}
    return OwnershipDraws(**values)


def _completed(flown: YearColumns | FlownChunk, replications: Ints) -> Array:
    trips = flown.trips
    done = np.isin(trips["outcome"], [str(Outcome.COMPLETED), str(Outcome.DELAYED)])
    return np.bincount(np.searchsorted(replications, trips["replication"]), done, len(replications))


def _seat_nm(flown: YearColumns | FlownChunk, replications: Ints) -> Array:
    flights = flown.flights
    return np.bincount(np.searchsorted(replications, flights["replication"]),
                       flights["distance_nm"] * flights["people"], len(replications))


def _lost(flown: YearColumns | FlownChunk, replications: Ints) -> Array:
    trips = flown.trips
    lost = np.isin(trips["reason"], [str(Reason.MAINTENANCE), str(Reason.CURRENCY)])
    lost &= ~np.isin(trips["outcome"], [str(Outcome.COMPLETED), str(Outcome.DELAYED)])
    return np.bincount(np.searchsorted(replications, trips["replication"]), lost, len(replications))
