"""What is summed of one shared year: trips asked for, met, moved, lost and flown, hours, days held and money."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import fields, is_dataclass, replace
from typing import Any, Literal, TypeVar, cast

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.words import ASLEEP, BIT, REASONS, Outcome, Reason
from missionsim.money.categories import CODE, Category
from missionsim.money.cost_sharing import bills_of
from missionsim.money.entries import Ledger
from missionsim.money.insurance import PilotExperience
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.replicate.trip_years import TripYears
from missionsim.study.shared_use.groups import SharedTrips
from missionsim.study.shared_use.shared_decisions import SharedDecisions
from missionsim.study.shared_use.shared_year import SharedYear, days_held, weekend_of

Sums = dict[str, Array]
T = TypeVar("T")
LEADS_H = (0, 3, 6, 12)
"""Hours of earlier departure that the slip table looks at."""
TRAVEL = ("other_usd", "lost_usd", "valued_h", "none_usd", "none_lost_usd", "none_valued_h", "saved_h",
          "saved_valued_h")
"""Names of `travel_sums`."""
_REASON_ROW = {str(reason): i for i, reason in enumerate(REASONS)}


def least_experience(pilots: Sequence[PilotExperience]) -> PilotExperience:
    """Return a group as an insurer sees it: the least experienced counts."""
    return PilotExperience(min(p.total_h for p in pilots), min(p.retractable_h for p in pilots),
                      min(p.type_h for p in pilots), all(p.instrument_rated for p in pilots),
                      max(p.age for p in pilots), min(p.multi_engine_h for p in pilots))


def experience_of(study: Study, pilot: Pilot, candidate: str) -> PilotExperience:
    """Return one pilot as an insurer asks about him, in one candidate."""
    hours = pilot.type_h or {}
    type_h = hours.get(candidate, hours.get("every", study.assumptions["pilot.type_h"]))
    return PilotExperience(float(pilot.total_h or 0), float(pilot.retractable_h or 0), float(type_h),
                      pilot.rating == "instrument", float(pilot.age or 0),
                      pilot_figure(pilot, "multi_engine_h", study.assumptions))


def size_sums(shared: SharedTrips, flown: SharedYear, ledger: Ledger, year: int) -> Sums:
    """Return the sums of one year for a partnership of some size, scalars and one count a reason.

    Parameters
    ----------
    shared : SharedTrips
    flown : SharedYear
    ledger : Ledger
    year : int
    """
    all_as_one = _counts(shared, flown, np.zeros(len(flown.wanted), dtype=np.int64), 1, year)
    cents = ledger.by_category([shared.replication])[0]
    return {name: values[0] for name, values in all_as_one.items()} | {
        "flight_hours": np.asarray(flown.records.flights["flight_h"].sum()), "cash_cents": cents,
        "training_cents": cents[CODE[Category.TRAINING]]}


def travel_sums(made: TripYears, whose: Ints, count: int) -> Sums:
    """Return by whose they are, (count,), what all trips of one year take beside the aircraft, and where there is none.

    `other_usd`, `lost_usd`, `valued_h`: car and airline, worth of what was given up, and hours of all travellers as
    they are valued, on all wanted trips however made; `none_*`: the same trips without any aircraft. `saved_h`,
    `saved_valued_h`: hours of all travellers that the aircraft saves, and as they are valued, on trips that neither
    gives up.

    Parameters
    ----------
    made : TripYears    Of one replication.
    whose : (t,) array  By row of the shared schedule; below zero nobody's.
    """
    own, none = whose[made.trip], made.without_aircraft()
    both = ~(made.given_up | made.other_given_up)

    def per(values: Array) -> Array:
        return np.bincount(own[own >= 0], np.asarray(values, dtype=np.float64)[own >= 0], count)

    return {"other_usd": per(made.car_usd.astype(np.float64) + made.airline_usd), "lost_usd": per(made.lost_usd),
            "valued_h": per(made.valued_h), "none_usd": per(none.usd), "none_lost_usd": per(none.lost_usd),
            "none_valued_h": per(none.valued_h),
            "saved_h": per(np.where(both, none.hours * made.people - made.person_h, 0.0)),
            "saved_valued_h": per(np.where(both, none.valued_h - made.valued_h, 0.0))}


def _counts(shared: SharedTrips, flown: SharedYear, whose: Array, count: int, year: int) -> Sums:
    """Return trips and days of one year by whose they are, (count,); those of nobody, below zero, are left out."""
    def per(mask: Array, weights: Array | None = None) -> Array:
        chosen = mask & (whose >= 0)
        return np.bincount(whose[chosen], None if weights is None else weights[chosen], count).astype(float)

    held, lost, weekend = flown.reservations.kept, lost_to_booking(flown), touches_weekend(shared, year)
    moved = held & ((flown.reservations.start_shift != 0) | (flown.reservations.end_shift != 0))
    first, last = days_held(flown.reservations.held_from_h, flown.reservations.held_to_h, _offset_h(shared))
    met = flown.wanted & flown.reservations.met
    return {
        "wanted": per(flown.wanted), "met": per(met), "booked": per(held), "moved": per(moved), "lost": per(lost),
        "cancelled": per(flown.cancelled), "flown": per(flown_trips(flown)),
        "days_held": per(held, (last - first + 1).astype(float)),
        "weekend_days": per(held, weekend_days(first, last, year).astype(float)),
        "weekend_wanted": per(flown.wanted & weekend), "weekend_met": per(met & weekend),
        "weekend_lost": per(lost & weekend), "refused": reason_counts(flown, whose, count)}


def _offset_h(shared: SharedTrips) -> float:
    return float(shared.place_prices.utc_offset_h[shared.place_prices.home])


def touches_weekend(shared: SharedTrips, year: int) -> Bools:
    """Return which trips by plan touch a Saturday or Sunday at home."""
    schedule = shared.schedule
    ends = schedule.first_leg[1:] - 1
    first, last = days_held(schedule.start_h[schedule.first_leg[:-1]] + schedule.planned_slot[schedule.first_leg[:-1]],
                            schedule.start_h[ends] + schedule.planned_slot[ends], _offset_h(shared))
    return weekend_days(first, last, year) > 0


def weekend_days(first: Array, last: Array, year: int) -> Array:
    """Return the weekend days between two days of the year, both included."""
    so_far = np.concatenate([[0], np.cumsum(weekend_of(year))])
    return so_far[np.minimum(last + 1, len(so_far) - 1)] - so_far[np.minimum(first, len(so_far) - 1)]


def lost_to_booking(flown: SharedYear) -> Bools:
    """Return which wanted trips were refused because somebody else had the aircraft, beforehand or on the day."""
    out = np.zeros(len(flown.wanted), dtype=bool)
    trips = flown.records.trips
    refused = (trips["outcome"] == str(Outcome.REFUSED)) & (trips["reason"] == str(Reason.BOOKED))
    out[trips["trip"][refused]] = True
    return out & flown.wanted


def flown_trips(flown: SharedYear) -> Bools:
    """Return which trips left home."""
    out = np.zeros(len(flown.wanted), dtype=bool)
    trips = flown.records.trips
    out[trips["trip"][trips["outcome"] != str(Outcome.REFUSED)]] = True
    return out


def reason_counts(flown: SharedYear, member: Array, members: int) -> Array:
    """Return refused trips by member and reason."""
    trips = flown.records.trips
    refused = trips["outcome"] == str(Outcome.REFUSED)
    reason = np.array([_REASON_ROW.get(r, 0) for r in trips["reason"][refused]], dtype=np.int64)
    counts = np.zeros((members, len(REASONS)))
    of = member[trips["trip"][refused]]
    inside = (of >= 0) & flown.wanted[trips["trip"][refused]]
    np.add.at(counts, (of[inside], reason[inside]), 1.0)
    return counts


def member_sums(shared: SharedTrips, flown: SharedYear, ledger: Ledger, people: Sequence[int], year: int,
                hourly: Literal["wet", "dry"], reserve_cents: int, local_h: Sequence[float] = ()) -> Sums:
    """Return the sums of one year by member, in the order of `people`; money in cents.

    Parameters
    ----------
    local_h : sequence of float   By member: local flying meant, by which what of it was flown is shared out. [h]
    """
    count, place = len(people), np.full(int(max(*people, shared.person.max(initial=-1))) + 1, -1, dtype=np.int64)
    place[list(people)] = np.arange(count)
    member = place[shared.person]

    flights = flown.records.flights
    own, meant = np.append(member, -1)[flights["trip"]], np.array(local_h or np.zeros(count))
    local = (flights["trip"] < 0) & (meant.sum() > 0.0)
    hours = {name: np.bincount(own[own >= 0], flights[column][own >= 0], count)
             + flights[column][local].sum() * meant / max(meant.sum(), 1e-9)
             for name, column in (("flight_hours", "flight_h"), ("block_hours", "block_h"))}
    bills = bills_of(ledger, [shared.replication], np.maximum(member, 0), count, hours["flight_hours"][None, :], hourly,
                     np.array([reserve_cents], dtype=np.int64))
    door = flown.records.trips
    return _counts(shared, flown, member, count, year) | hours | {
        "door_to_door_hours": np.bincount(member[door["trip"]], door["door_to_door_h"], count),
        "cash_cents": ledger.by_category([shared.replication])[0],
        "fixed_cents": bills.fixed_cents[0], "hourly_cents": bills.hourly_cents[0],
        "reserve_cents": bills.reserve_cents[0], "own_cents": bills.own_cents[0],
    }


def slip_sums(shared: SharedTrips, decided: SharedDecisions) -> Sums:
    """Return how many must-go trips could leave by plan or so many hours before, weather alone; all trips if none must.

    Only trips that may leave so early count for a lead.
    """
    schedule, first = shared.schedule, shared.schedule.first_leg[:-1]
    asked = schedule.must_go if schedule.must_go.any() else np.ones(schedule.trips, dtype=bool)
    asked = asked & (decided.decisions.structural == 0)
    weather = decided.decisions.reasons[first] & ~np.uint32(BIT[Reason.BOOKED] | ASLEEP)
    slot = np.arange(schedule.slots)[None, :]
    planned = schedule.planned_slot[first][:, None]
    longest = max(LEADS_H)
    earlier = schedule.own_earlier()[first]
    able = asked & (earlier >= longest)
    if not able.any():
        longest = max((lead for lead in LEADS_H if (asked & (earlier >= lead)).any()), default=0)
        able = asked & (earlier >= longest)
    goes = [((weather == 0) & (slot <= planned) & (slot >= planned - min(lead, longest))).any(axis=1)
            for lead in LEADS_H]
    return {"slip_trips": np.asarray(able.sum()), "slip_go": np.array([(able & g).sum() for g in goes]),
            "slip_longest_h": np.asarray(longest)}


def leafwise(combine: Callable[[Sequence[Array]], Array], parts: Sequence[T]) -> T:
    """Return records or mappings alike as one, array by array: stacked or joined."""
    same: Sequence[Any] = parts
    found: Any
    if isinstance(same[0], Mapping):
        found = {name: leafwise(combine, [part[name] for part in same]) for name in same[0]}
    elif is_dataclass(same[0]):
        each = {f.name: leafwise(combine, [getattr(part, f.name) for part in same]) for f in fields(same[0])}
        found = replace(same[0], **each)  # type: ignore[type-var]
    else:
        found = combine(same)
    return cast(T, found)
