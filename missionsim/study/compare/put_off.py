"""What weather puts off: trips that cannot leave at the planned hour, within their hours, within a day.

A pass of its own over the weather of a few replications; nothing is flown, and nothing flown depends on it. What
owners tell stands beside it and is never fitted to.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Bits, Bools
from missionsim.base.memory import let_go
from missionsim.base.words import BIT, Reason
from missionsim.decide.leg_weather import leg_weather
from missionsim.study.prepare.study import Entrant, Prepared
from missionsim.study.replicate.one_year import Day, weather_of
from missionsim.year.looked_slots import AIR_SLOTS, LookedSlots

DAY_H = 24
ROWS = ("planned hour", "trip's hours", "within a day")
SEASONS = {"winter": (12, 1, 2), "summer": (6, 7, 8)}
EXPERIENCE = {
    "north-east, Lakes": ("40-55", "18-28", "22-35", "6-12", "10-18"),
    "Pacific north-west": ("45-60", "12-20", "30-45", "4-8", "12-22"),
    "northern plains": ("30-45", "15-25", "18-30", "7-12", "10-16"),
    "south-east": ("22-32", "20-30", "6-10", "8-15", "5-9"),
    "southern plains": ("20-30", "10-18", "7-12", "5-10", "5-9"),
    "mountain west": ("25-40", "12-20", "18-30", "8-14", "12-20"),
    "desert south-west": ("6-12", "8-15", "3-7", "6-10", "3-6"),
    "California coast": ("15-25", "15-25", "4-8", "2-4", "4-7"),
}
"""Trips of 200 to 400 nm put off at the planned hour, %, as owners tell (judgement): visual winter and summer,
instrument without ice protection winter and summer, with ice protection and boost winter."""
_STATES = {
    "north-east, Lakes": "ME NH VT MA RI CT NY NJ PA DE MD DC OH MI IN IL WI", "Pacific north-west": "WA OR",
    "northern plains": "ND SD NE MN IA MO", "south-east": "VA NC SC GA FL AL MS TN KY WV LA AR",
    "southern plains": "TX OK KS", "mountain west": "CO UT ID MT WY", "desert south-west": "AZ NM NV",
    "California coast": "CA"}
REGION_OF = {f"US-{state}": region for region, states in _STATES.items() for state in states.split()}


@dataclass(frozen=True, slots=True)
class PutOff:
    """Trips of one candidate in one season, as shares of all of them.

    `shares`: cannot leave, by `ROWS`. `ends_share`: take-off or arrival at the planned hour is below minima, whatever
    was forecast and the rest of the way says. Of flights under visual rules that the planned hour lets go,
    `turned_share` turn back or land short, and `met_below_per_1000` meet less than the legal minima.
    """

    candidate: str
    season: str
    trips: int
    shares: tuple[float, float, float]
    ends_share: float
    turned_share: float
    met_below_per_1000: float


def experience(region: str, *, instrument: bool, winter: bool, protected: bool = False) -> str:
    """Return what owners tell of trips put off at the planned hour, `40-55`; empty where they tell nothing. [%]

    Parameters
    ----------
    region : str       ISO 3166-2 of home, `US-NE`.
    protected : bool   Approved for flight in ice, and boosted.
    """
    told = EXPERIENCE.get(REGION_OF.get(region, ""))
    if told is None or (protected and not winter):
        return ""
    return told[4] if protected and instrument else told[2 * instrument + (not winter)]


def years_put_off(prepared: Prepared, flown: int) -> range:
    """Return the replications looked at, the first few of those flown; none of a study without trips."""
    few = int(prepared.study.assumptions["statistics.put_off_replications"])
    return range(min(flown, few) if len(prepared.table) else 0)


def put_off(prepared: Prepared, replications: Sequence[int]) -> tuple[PutOff, ...]:
    """Return what weather puts off of a study's trips, by candidate and season; seasons without a trip are left out."""
    month = np.array([trip.departs_local[0].month for trip in prepared.table])
    looked: list[list[Outbound]] = [[] for _ in prepared.entrants]
    for replication in replications:
        day = weather_of(prepared, replication)
        for entrant, mine in zip(prepared.entrants, looked, strict=True):
            mine.append(outbound(entrant, day))
        del day     # before the next one is drawn
    found = []
    for entrant, parts in zip(prepared.entrants, looked, strict=True):
        for season, months in SEASONS.items():
            here = np.isin(month, months)
            if here.any() and parts:
                found.append(_together(entrant, season, here, parts))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Outbound:
    """Weather of the first legs of trips.

    `bits` [trip, slot]: what is in the way; `turns`, `met` [trip, slot]: flights that turn back or land short, and
    those that met less than the legal minima; `ends` [trip]: either end is below minima at the planned hour.
    """

    bits: Bits
    turns: Bools
    met: Bools
    ends: Bools


def outbound(entrant: Entrant, day: Day) -> Outbound:
    """Return what the weather of a replication does to the first leg of every trip.

    Bits of the way count for visual pilots; flights of others that leave the instrument minimum among mountains have
    their way round.
    """
    prepared, plan = entrant.prepared, entrant.flyer.plan
    schedule, first = prepared.schedule, prepared.schedule.first_leg[:-1]
    gates = prepared.sky.gates[entrant.number]
    air = plan.cells.air(day.air[plan.rows.lane_set], plan.rows.lane)
    weather = leg_weather(plan, gates, prepared.sky.fields[entrant.number], schedule, day.sky, day.enroute, air)
    let_go()
    by_column = schedule.looks.hours.columns
    bits = by_column(weather.reasons)[first]
    turns, met = np.zeros(bits.shape, dtype=bool), np.zeros(bits.shape, dtype=bool)
    if not plan.pilot.rules.instrument:
        assert weather.visual_reasons is not None
        assert weather.ends is not None
        assert weather.met_below is not None
        bits |= by_column(weather.visual_reasons)[first]
        turns, met = by_column(weather.ends)[first] > 0, by_column(weather.met_below)[first]
    if weather.blocked_levels is not None:
        rows = plan.options.first_row[plan.options.of_leg[first, 0]]
        limits = plan.level_limits
        usable = (limits.open_ & plan.table.usable)[rows][:, None]
        shut = plan.cells.spread(weather.blocked_levels, len(plan.rows.lane))[rows]
        shut = (shut | ~usable).all(axis=2) & usable.any(axis=2)
        shut = np.repeat(shut, AIR_SLOTS, axis=1)[:, :bits.shape[1]]
        bits |= np.where(shut, np.uint32(BIT[Reason.ICING]), np.uint32(0))
    looks, column = schedule.looks, schedule.planned_column[1][first]
    whole = LookedSlots(looks.slot[first], looks.open_[first], looks.block[first], looks.air[first],
                        looks.column[first])
    surface = day.sky.surface
    ends = (surface.below(gates.thresholds.takeoff, schedule.from_place[first], gates.hours.departure_i[first, column])
            | surface.below(gates.thresholds.landing, schedule.to_place[first], gates.hours.arrival_i[first, column]))
    return Outbound(whole.spread(bits, np.uint32(BIT[Reason.DAYLIGHT])), whole.spread(turns), whole.spread(met), ends)


def _together(entrant: Entrant, season: str, here: Bools, parts: Sequence[Outbound]) -> PutOff:
    """Return the shares of one candidate and season over all years looked at."""
    schedule = entrant.prepared.schedule
    leg = schedule.first_leg[:-1][here]
    planned = schedule.planned_slot[leg][:, None]
    slot = np.arange(schedule.slots)[None, :]
    own = slot >= planned - schedule.own_earlier()[leg][:, None]
    last = (schedule.last_slot[leg] - DAY_H * schedule.days_later[here])[:, None]
    spans = (slot == planned, own & (slot <= last), own & (slot <= planned + DAY_H))
    goes = np.stack([(p.bits[here] == 0) & ~p.turns[here] for p in parts])
    shares = tuple(float(1.0 - (goes & span[None]).any(axis=2).mean()) for span in spans)
    at, row = planned[:, 0], np.arange(len(leg))
    begun = np.stack([p.bits[here][row, at] == 0 for p in parts])
    turned, met = (np.stack([getattr(p, name)[here][row, at] for p in parts]) & begun for name in ("turns", "met"))
    count = max(int(begun.sum()), 1)
    return PutOff(entrant.flyer.candidate.name, season, len(leg), (shares[0], shares[1], shares[2]),
                  float(np.stack([p.ends[here] for p in parts]).mean()), float(turned.sum() / count),
                  float(1000.0 * met.sum() / count))
