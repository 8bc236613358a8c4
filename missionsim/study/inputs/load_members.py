"""The people of shared use as a study names them: members with trips and pilots of their own, and requests for hire."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import timedelta

from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.study.inputs.load_trips import WEEKDAYS, demand_lines, load_trip_list
from missionsim.study.inputs.reading import StudyReading
from missionsim.study.inputs.schema import Pilot, StudySpec
from missionsim.study.inputs.schema_sharing import Member
from missionsim.study.inputs.schema_sharing import Request as RequestSpec
from missionsim.study.inputs.yaml_lines import KeyPath
from missionsim.world.airports.table import Airport
from missionsim.year.demand import DemandLine, generate, season_weights
from missionsim.year.hire_requests import RequestLine, route_of, usual_kind
from missionsim.year.trips import Trip, TripTable

WEEK = timedelta(days=7)


@dataclass(frozen=True)
class MemberTrips:
    """One member with trips read and the pilot filled in.

    `listed`: the trip list, the same each year; None where `demand` is generated.
    """

    spec: Member
    pilot: Pilot
    listed: TripTable | None
    demand: tuple[DemandLine, ...] = ()

    @property
    def name(self) -> str:
        """The member's name."""
        return self.spec.name


def load_members(reading: StudyReading, spec: StudySpec, filled: Callable[[Pilot], Pilot],
                 ) -> tuple[tuple[MemberTrips, ...], dict[str, str], tuple[str, ...]]:
    """Return the members of a study, the hashes of their trip lists by file, and notes on how these were read.

    `filled`: gives a pilot the figures that nobody gave.
    """
    if spec.members is None:
        return (), {}, ()
    year, members, hashes, notes = spec.year, [], {}, []
    for i, person in enumerate(spec.members.people):
        at: KeyPath = ("members", "people", i)
        listed: TripTable | None = None
        demand: tuple[DemandLine, ...] = ()
        if person.trips is not None:
            found = load_trip_list(reading, person.trips, year, (*at, "trips"))
            if found is None:
                continue
            listed, hashes[found.file] = found.table, found.sha256
            year = year or listed.year
            notes += [f"{person.name}: {note}" for note in listed.notes]
        else:
            rows = list(enumerate(person.demand or ()))
            demand = demand_lines(reading, rows, (*at, "demand"))
        members.append(MemberTrips(person, filled(_pilot(spec.pilot, person.pilot)), listed, demand))
    return tuple(members), hashes, tuple(notes)


def _pilot(general: Pilot, own: Pilot | None) -> Pilot:
    """Return the study's pilot with what the member's own entry says."""
    return general if own is None else general.model_copy(update=own.model_dump(exclude_unset=True))


def trips_of(member: MemberTrips, person: int, years: int, home: str, seed: int, year: int, assumptions: Assumptions,
             copy: int = 0) -> list[TripTable]:
    """Return the trips of a member for each of several years drawn ahead; a list is one year.

    Parameters
    ----------
    person : int    Place in the study's list: the address of the random stream.
    copy : int      0 for the member; above, somebody like the member: own draws, or the list moved by whole weeks.
    """
    if member.listed is not None:
        return [replace(member.listed, trips=tuple(_moved(trip, copy, member.listed.year) for trip in member.listed))]
    return [generate(member.demand, home, year, assumptions,
                     [generator(seed, k, Stream.MEMBERS, person, copy, i) for i in range(len(member.demand))])
            for k in range(years)]


def _moved(trip: Trip, copy: int, year: int) -> Trip:
    """Return a trip moved by whole weeks, back and forth by turns, within the year."""
    weeks = (copy + 1) // 2 * (1 if copy % 2 else -1)
    moved = [t + weeks * WEEK for t in trip.departs_local]
    if moved[0].year != year or moved[-1].year > year:
        moved = [t - weeks * WEEK for t in trip.departs_local]
    return replace(trip, departs_local=tuple(moved)) if copy else trip


def load_requests(reading: StudyReading, spec: StudySpec, home: Airport) -> tuple[RequestLine, ...]:
    """Return the kinds of flight others ask for; `spec`: who else flies, for what, and under whose paper."""
    outside = spec.outside
    if outside is None:
        return ()
    crew = 2 if outside.crew.second_pilot else 1
    lines = []
    for i, row in enumerate(outside.requests):
        at: KeyPath = ("outside", "requests", i)
        to = reading.flyable((*at, "to"), row.to)
        pick_up = home if row.from_ is None else reading.flyable((*at, "from"), row.from_)
        if to is None or pick_up is None:
            continue
        try:
            places, occupied = route_of(home.ident, pick_up.ident, to.ident, row.kind or usual_kind(spec.operation))
        except ValueError as error:
            reading.fault((*at, "to"), f"goes {error}", "another airport")
            continue
        line = _demand_line(row, places, crew, home.latitude_deg < 0, reading.assumptions)
        notice = row.notice_days or notice_spread(reading.assumptions, "hire.notice_days")
        lines.append(RequestLine(line, occupied, crew, notice))
    return tuple(lines)


def _demand_line(row: RequestSpec, places: tuple[str, ...], crew: int, southern: bool, a: Assumptions) -> DemandLine:
    season = None if row.season is None else {str(name): weight for name, weight in row.season.items()}
    later = a["hire.later_h"] if row.later_h is None else row.later_h
    bags = None if row.bags_lb is None else (row.bags_lb, row.bags_lb, row.bags_lb)
    return DemandLine(
        places=places, per_year=row.per_year, month_weight=season_weights(season, southern),
        weekdays=tuple(sorted({WEEKDAYS.index(day) for day in row.weekdays})), nights=row.nights,
        adults={n + crew: weight for n, weight in row.passengers.items()}, leave_local_h=row.leave_local_h,
        return_local_h=row.return_local_h, bags_lb=bags,
        earlier_h=a["hire.earlier_h"] if row.earlier_h is None else row.earlier_h, later_h=later,
        return_earlier_h=a["hire.earlier_h"], return_later_h=a["hire.return_later_h"], purpose=row.purpose)


def notice_spread(assumptions: Assumptions, key: str) -> tuple[float, float, float]:
    """Return low, likely and high of an assumption; a likely value the user moved past a limit takes it along."""
    entry = assumptions.entry(key)
    return min(entry.low, entry.value), entry.value, max(entry.high, entry.value)

