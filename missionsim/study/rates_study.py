"""The owner's year with and without flying for others, replication by replication, as sums."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.streams import generator
from missionsim.base.words import BIT, Outcome, Purpose, Reason, Stream
from missionsim.money.entries import Ledger
from missionsim.money.ledger import ledger_of
from missionsim.money.rates import calendar_extra_usd, crew_usd
from missionsim.money.words import CATEGORIES, CODE, FIXED, HOURLY, OUTSIDE, Category
from missionsim.study.effects import Effects, effects_of
from missionsim.study.hire import OUTSIDE as OTHERS
from missionsim.study.hire import OWNER, Hire, prepare_hire
from missionsim.study.loader import Study
from missionsim.study.partner_sums import Sums, cover_of, joined, least_cover, needs_at, reason_counts, stacked
from missionsim.study.pool import Decided, Flown, Joint, decide_together, joint_of
from missionsim.study.replicate import CHUNK
from missionsim.study.sharing import Played, chosen_years, luck_of, play, requests_of
from missionsim.study.workers import in_order
from missionsim.year.book import Upkeep
from missionsim.year.bookings import BookingRule

Array = NDArray[Any]
Progress = Callable[[int, int], None]
PERSONAL = (Category.LODGING, *sorted(OUTSIDE))
"""Ledger entries of other people's trips that the owner does not pay: their rooms, their other ways to travel."""


@dataclass(frozen=True)
class HireSums:
    """Sums of one candidate, the replication first."""

    name: str
    missing: tuple[str, ...]
    table: Sums


class _Year:
    """One replication of one candidate: decided once, flown for the owner alone and for all."""

    def __init__(self, hire: Hire, joint: Joint, requests_luck: Any, number: int, effects: Effects, i: int,
                 replication: int) -> None:
        self.hire, self.joint, self.number, self.effects = hire, joint, number, effects
        self.i, self.replication = i, replication
        study = hire.study
        decided = decide_together(joint, number, effects, i)
        if hire.missing[number]:
            decided = _unfit(decided, joint)
        self.decided = decided
        self.requests = requests_of(joint, decided, hire.habits, requests_luck, study.assumptions)
        rule = effects.upkeep_rule(joint.parts[-1].flyers[number].upkeep, i)
        self.upkeep = rule.upkeep(study.seed, replication)

    def sums(self) -> Sums:
        """Return all sums of the year."""
        alone, alone_ledger = self._flown({OWNER: 0}, hired=False)
        both, ledger = self._flown({OWNER: 0, OTHERS: 1}, hired=True)
        owners = self.joint.person == OWNER
        return {
            **{f"alone_{k}": v for k, v in self._trips(alone, owners).items()},
            **{f"own_{k}": v for k, v in self._trips(both, owners).items()},
            **{f"asked_{k}": v for k, v in self._trips(both, ~owners).items()},
            "alone_net_usd": np.asarray(alone_ledger.net_cost_cents([self.replication])[0] / 100.0),
            "alone_hours": np.asarray(alone.flown.flights["flight_h"].sum()),
            "alone_fixed_usd": np.asarray(sum(alone_ledger.by_category([self.replication])[0, CODE[c]]
                                              for c in sorted(FIXED)) / 100.0),
            **self._money(both, ledger), **_hours(self.joint, both.flown),
        }

    def _flown(self, people: Mapping[int, int], hired: bool) -> tuple[Played, Ledger]:
        upkeep = self._hired(self.upkeep) if hired else self.upkeep
        played = play(self.joint, self.decided, self.number, upkeep, self.replication, people, BookingRule(),
                      self.requests)
        study, part = self.hire.study, self.joint.parts[-1]
        flyer, flown = part.flyers[self.number], played.flown
        covers = [cover_of(study, self.hire.pool.persons[p].pilot, flyer.candidate.name) for p in people]
        ledger = ledger_of(
            flyer.cost, flown.flights, flown.trips, flown.shop, replications=[self.replication], terms=self.joint.terms,
            places=self.joint.place_prices, prices=part.prices, pilot=least_cover(covers),
            assumptions=study.assumptions, year=study.year, hired_out=hired, needs=needs_at(self.effects, self.i))
        return played, ledger

    def _hired(self, upkeep: Upkeep) -> Upkeep:
        """Return the upkeep when operated for hire: an inspection every hundred hours, some of them flown already."""
        interval_h = self.hire.terms.inspection_interval_h
        since_h = interval_h * float(generator(self.hire.study.seed, self.replication, Stream.STATE, 1).random())
        return replace(upkeep, inspection_interval_h=interval_h, inspection_since_h=since_h)

    def _trips(self, played: Played, mine: NDArray[np.bool_]) -> dict[str, Array]:
        trips = played.flown.trips
        of = mine[trips["trip"]]
        outcome = trips["outcome"][of]
        kept = (outcome == str(Outcome.COMPLETED)) | (outcome == str(Outcome.DELAYED))
        counts = reason_counts(played, np.where(mine, 0, -1), 1)[0]
        return {"wanted": np.asarray(of.sum()), "completed": np.asarray(kept.sum()),
                "refused_all": np.asarray((outcome == str(Outcome.REFUSED)).sum()), "refused": counts}

    def _money(self, both: Played, ledger: Ledger) -> dict[str, Array]:
        """Return the owner's dollars of the year with all flying, and what belongs to flying for others alone."""
        terms, study = self.hire.terms, self.hire.study
        theirs = np.append(self.joint.person == OTHERS, False)[ledger.trip]
        personal = np.isin(ledger.category, [CODE[c] for c in PERSONAL]) & theirs
        table = np.zeros(len(CATEGORIES))
        np.add.at(table, ledger.category[~personal], ledger.amount_cents[~personal] / 100.0)
        flyer = self.joint.parts[-1].flyers[self.number]
        hours = float(both.flown.flights["flight_h"].sum())
        calendar = float(calendar_extra_usd(flyer.cost, hours, study.assumptions)) if terms.charter else 0.0
        crew = self._crew_usd(both.flown)
        outside = sum(table[CODE[c]] for c in OUTSIDE)
        fixed = sum(table[CODE[c]] for c in sorted(FIXED)) + terms.conformity_usd_per_year + calendar
        cost = table.sum() - outside + terms.conformity_usd_per_year + calendar + crew
        return {name: np.asarray(value) for name, value in (
            ("cost_usd", cost), ("net_usd", cost + outside), ("crew_usd", crew), ("fixed_usd", fixed),
            ("direct_usd", sum(table[CODE[c]] for c in sorted(HOURLY))),
            ("variable_usd", table.sum() - outside - sum(table[CODE[c]] for c in sorted(FIXED))))}

    def _crew_usd(self, flown: Flown) -> float:
        """Return what the crew of other people's trips costs: days on duty from leaving to home, nights between."""
        terms, trips = self.hire.terms, flown.trips
        if terms.usd_per_day <= 0.0:
            return 0.0
        left = (self.joint.person[trips["trip"]] == OTHERS) & (trips["outcome"] != str(Outcome.REFUSED))
        offset_h = self.joint.place_prices.utc_offset_h[self.joint.place_prices.home]
        first = np.floor((trips["departed_h"][left] + offset_h) / 24.0)
        last = np.floor((trips["home_h"][left] + offset_h) / 24.0)
        prices = self.joint.parts[-1].prices
        return float(crew_usd(last - first + 1.0, last - first, terms.usd_per_day, terms.expenses_usd_per_day,
                              prices.hotel_usd_per_night, terms.crew, terms.second_pilot_share).sum())


def _unfit(decided: Decided, joint: Joint) -> Decided:
    """Return decisions with every trip for others refused for want of equipment."""
    found = decided.decisions
    structural = np.where(joint.person == OTHERS, np.uint32(BIT[Reason.EQUIPMENT]), found.structural)
    return replace(decided, decisions=replace(found, structural=structural))


def _hours(joint: Joint, flown: Flown) -> dict[str, Array]:
    """Return hours and miles of all, of flying for others, and of those with passengers who pay."""
    flights = flown.flights
    theirs = joint.person[flights["trip"]] == OTHERS
    leg = flown.legs_of_flights
    empty = (leg < 0) | joint.empty[np.maximum(leg, 0)] | (flights["purpose"] == str(Purpose.FERRY))
    paying = theirs & ~empty
    return {name: np.asarray(value) for name, value in (
        ("flight_hours", flights["flight_h"].sum()), ("outside_hours", flights["flight_h"][theirs].sum()),
        ("outside_empty_hours", flights["flight_h"][theirs & empty].sum()),
        ("revenue_hours", flights["block_h"][paying].sum()), ("occupied_nm", flights["distance_nm"][paying].sum()))}


def hire_sums(hire: Hire, replications: Sequence[int]) -> list[HireSums]:
    """Fly some replications and return the sums of each candidate; what a worker does."""
    study = hire.study
    flyers = hire.pool.groups[0].prepared.flyers
    effects = [effects_of(f.listing.drawn(study.seed, replications)) for f in flyers]
    rows: list[list[Sums]] = [[] for _ in flyers]
    for i, replication in enumerate(replications):
        chosen = chosen_years(hire.pool, study.seed, replication, hire.streams)
        joint = joint_of(hire.pool, chosen, replication)
        luck = luck_of(joint, hire.habits, study.seed, replication, hire.streams)
        for number, own in enumerate(effects):
            rows[number].append(_Year(hire, joint, luck, number, own, i, replication).sums())
    return [HireSums(f.candidate.name, hire.missing[n], stacked(rows[n])) for n, f in enumerate(flyers)]


def fly_hire(study: Study, replications: int, workers: int = 1, progress: Progress | None = None,
             ) -> tuple[Hire, list[HireSums]]:
    """Fly all replications; the sums of each candidate. Results do not depend on the number of workers."""
    hire = prepare_hire(study)
    chunks = [range(i, min(i + CHUNK, replications)) for i in range(0, replications, CHUNK)]
    parts = []
    for found in in_order(hire_sums, hire, chunks, workers):
        parts.append(found)
        if progress is not None:
            progress(min(len(parts) * CHUNK, replications), replications)
    return hire, [HireSums(parts[0][i].name, parts[0][i].missing, joined([part[i].table for part in parts]))
                  for i in range(len(study.candidates))]
