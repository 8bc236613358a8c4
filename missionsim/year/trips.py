"""The trip table: every errand of a year with its places, planned times, people, bags and flexibility."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from itertools import pairwise
from zoneinfo import ZoneInfo

from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class Trip:
    """One errand: from home over one or several places and back home.

    Parameters
    ----------
    trip_id : str
        The user's own number or name, else `row N`.
    stops : tuple of str
        Airport identifiers in order, home first and last.
    departs_local : tuple of datetime
        Planned departure of each leg on the clock of the airport it leaves, without time zone.
    adults, children : int
        Everybody on board, the pilot included.
    bags_lb : float
        All bags and freight together. [lb]
    must_go : bool
        Somebody has to be there: without the aircraft the trip is made otherwise at short notice.
    optional_value_usd : float or None
        What the trip is worth when it may simply be dropped; None when it would be made otherwise. [USD]
    earlier_h, later_h, return_earlier_h, return_later_h : float
        How far the departure and the journey home may slip. [h]
    purpose : str
    member : str or None
        Who wants the trip, in a partnership.
    must_be_possible : bool
        An aircraft that can never make it, with everybody and all bags aboard, does not do the job.
    days_earlier, days_later, day_step : int
        So many days the whole trip may be moved, at its own hours, by multiples of the step.
    evening_h : float
        So long before plan it may leave home the evening before, when its own hour looks bad then; 0: it does not. [h]
    moved_usd, moved_h : float or None
        What moving the whole trip to another day costs, meetings missed and bookings changed, and takes of each
        traveller's time; None: the usual. [USD], [h]
    adults_least : int or None
        So many adults go at least, the pilot among them, when not all fit; the others go by car. None: everybody.
    substitute_usd, substitute_h : float or None
        What the whole trip costs all travellers and takes one of them without a light aircraft; None: worked out.
    party_said : bool
        Whoever wrote it says who comes; else the usual party was taken, the pilot alone.
    """

    trip_id: str
    stops: tuple[str, ...]
    departs_local: tuple[datetime, ...]
    adults: int = 1
    children: int = 0
    bags_lb: float = 0.0
    must_go: bool = False
    optional_value_usd: float | None = None
    earlier_h: float = 0.0
    later_h: float = 0.0
    return_earlier_h: float = 0.0
    return_later_h: float = 0.0
    purpose: str = ""
    member: str | None = None
    must_be_possible: bool = False
    days_earlier: int = 0
    days_later: int = 0
    day_step: int = 1
    substitute_usd: float | None = None
    substitute_h: float | None = None
    adults_least: int | None = None
    evening_h: float = 0.0
    moved_usd: float | None = None
    moved_h: float | None = None
    party_said: bool = True

    def __post_init__(self) -> None:
        if len(self.stops) < 3 or len(self.departs_local) != len(self.stops) - 1:
            msg = f"trip {self.trip_id}: {len(self.stops)} stops need one departure less, and at least three stops"
            raise ValueError(msg)

    @property
    def people(self) -> int:
        """Everybody on board, the pilot included."""
        return self.adults + self.children

    @property
    def legs(self) -> int:
        """Number of legs, the one home included."""
        return len(self.stops) - 1

    @property
    def destinations(self) -> tuple[str, ...]:
        """Places the trip wants to reach, without home at both ends."""
        return self.stops[1:-1]

    @property
    def nights(self) -> int:
        """Nights away by plan."""
        return (self.departs_local[-1].date() - self.departs_local[0].date()).days


@dataclass(frozen=True, slots=True)
class Unstitched:
    """A leg of a logbook that is part of no trip from home to home, and why."""

    line: int
    when: date
    from_place: str
    to_place: str
    why: str


@dataclass(frozen=True, slots=True)
class SetAside:
    """A row of a list that is no trip, and why: an appointment without an airport, a simulator, a way to the shop."""

    line: int
    what: str
    why: str


@dataclass(frozen=True, slots=True)
class TripTable:
    """All trips of one year, in order of departure.

    Parameters
    ----------
    trips : tuple of Trip
    home : str
        Identifier of the home airport.
    year : int
        Local calendar year of home in which the trips start.
    from_logbook : bool
        The trips were stitched from legs flown; a logbook holds only the trips that went.
    unstitched : tuple of Unstitched
        Legs that make no trip from home to home.
    outside_year : int
        Trips of the list that start in another year and are left out.
    notes : tuple of str
        Sentences a reader of the result should see: how dates were read, what was assumed.
    set_aside : tuple of SetAside
        Rows that are no trip.
    local_flights, local_h : int, float
        Flights of the list that land where they started, and their hours where the list has them. [h]
    """

    trips: tuple[Trip, ...]
    home: str
    year: int
    from_logbook: bool = False
    unstitched: tuple[Unstitched, ...] = ()
    outside_year: int = 0
    notes: tuple[str, ...] = ()
    set_aside: tuple[SetAside, ...] = ()
    local_flights: int = 0
    local_h: float = 0.0

    def __len__(self) -> int:
        return len(self.trips)

    def __iter__(self) -> Iterator[Trip]:
        return iter(self.trips)

    def __getitem__(self, row: int) -> Trip:
        return self.trips[row]

    @property
    def legs(self) -> int:
        """Legs of all trips together."""
        return sum(trip.legs for trip in self.trips)

    def places(self) -> tuple[str, ...]:
        """Return every identifier used, home first, then sorted."""
        used = {stop for trip in self.trips for stop in trip.stops} - {self.home}
        return (self.home, *sorted(used))

    def pairs(self) -> tuple[tuple[str, str], ...]:
        """Return every directed pair of places a leg joins, sorted."""
        return tuple(sorted({pair for t in self.trips for pair in pairwise(t.stops)}))


WISH_LIST, LOGBOOK = "wish_list", "logbook"


def taken_for(table: TripTable | None) -> str:
    """Return what a list of trips is taken for when nobody says: legs flown are a logbook, all else is a wish list."""
    return LOGBOOK if table is not None and table.from_logbook else WISH_LIST


WEEK_DAYS = 7


@lru_cache(maxsize=512)
def _zone(name: str) -> ZoneInfo:
    return ZoneInfo(name)


def utc_hours(local: datetime, timezone: str, year: int) -> float:
    """Return UTC hours since 1 January 00:00 UTC of a year for a time on a local clock.

    A time in the hour that is skipped in spring counts as the same time after the jump (02:30 is 03:30 daylight
    time); a time in the hour that comes twice in autumn is the first of the two.

    Parameters
    ----------
    local : datetime      On the local clock, without time zone.
    timezone : str        IANA name, such as `America/Chicago`.
    year : int            Simulated year.

    Returns
    -------
    float                 [h]; negative before the year.

    References
    ----------
    .. [1] PEP 495, Local time disambiguation: fold=0 in gaps and in repeated hours.
    """
    moment = local.replace(tzinfo=_zone(timezone), fold=0).astimezone(UTC)
    return (moment - datetime(year, 1, 1, tzinfo=UTC)).total_seconds() / 3600.0


def after_jump(local: datetime, timezone: str) -> datetime:
    """Return a local time as its clock shows it: in the hour skipped in spring the same time after the jump.

    Parameters
    ----------
    local : datetime      On the local clock, without time zone.
    timezone : str        IANA name.
    """
    zone = _zone(timezone)
    moment = local.replace(tzinfo=zone, fold=0).astimezone(UTC)
    return moment.astimezone(zone).replace(tzinfo=None, fold=0)


def skipped_note(local: datetime, timezone: str, place: str) -> str:
    """Return what a reader must know of a time in the hour skipped in spring; nothing for any other time."""
    taken = after_jump(local, timezone)
    if taken == local.replace(fold=0):
        return ""
    return f"{local:%Y-%m-%d %H:%M} at {place} is skipped by daylight saving; taken as {taken:%H:%M} after the jump"


def local_time(hours: float, timezone: str, year: int) -> datetime:
    """Return the local clock, without time zone, at UTC hours since 1 January 00:00 UTC of a year.

    Parameters
    ----------
    hours : float         UTC hours since the year began. [h]
    timezone : str        IANA name.
    year : int            Simulated year.
    """
    moment = datetime(year, 1, 1, tzinfo=UTC) + timedelta(seconds=round(hours * 3600.0))
    return moment.astimezone(_zone(timezone)).replace(tzinfo=None, fold=0)


def clock(hour: float) -> time:
    """Return the time of day of decimal hours, to the minute: 16.5 is 16:30."""
    minutes = min(max(round(hour * 60), 0), 24 * 60 - 1)
    return time(minutes // 60, minutes % 60)


def first_departure(day: date, at: time | None, assumptions: Assumptions) -> datetime:
    """Return when a trip leaves home: the user's time, else the usual morning hour."""
    return datetime.combine(day, at or clock(assumptions["trip.leave_local_h"]))


def last_departure(first: datetime, day: date, at: time | None, places: int, assumptions: Assumptions) -> datetime:
    """Return when a trip leaves its last place for home, when the user gave no hour.

    Parameters
    ----------
    first : datetime      Departure from home.
    day : date            Day of the journey home.
    at : time or None     The user's time, which wins.
    places : int          Places visited.
    assumptions : Assumptions   Group `trip`.

    Returns
    -------
    datetime
        The usual hour of going home, later when the places visited that day need longer, but not after the latest
        usual departure as long as there is any time at all to get round.
    """
    if at is not None:
        return datetime.combine(day, at)
    usual = datetime.combine(day, clock(assumptions["trip.return_local_h"]))
    if day != first.date():
        return usual
    leg = timedelta(hours=assumptions["trip.leg_allowance_h"])
    stay = timedelta(hours=assumptions["trip.stay_h"])
    latest = datetime.combine(day, clock(assumptions["trip.latest_departure_local_h"]))
    return max(min(max(usual, first + places * (leg + stay)), latest), first + places * leg)


def plan_departures(first: datetime, last: datetime, legs: int, assumptions: Assumptions) -> tuple[datetime, ...]:
    """Return a departure for each leg between the first and the last, which are fixed.

    Time away is shared evenly over the places. On trips with nights a departure that would fall in the night
    moves to the usual morning hour, as long as the order stays.

    Parameters
    ----------
    first, last : datetime      Departure from home and from the last place.
    legs : int                  Legs, at least 2.
    assumptions : Assumptions   Group `trip`.

    Returns
    -------
    tuple of datetime           One a leg, to the minute, not decreasing.
    """
    share = (last - first) / (legs - 1)
    even = [first + i * share for i in range(legs - 1)] + [last]
    even = [t.replace(second=0, microsecond=0) for t in even]
    if first.date() == last.date():
        return tuple(even)
    moved = [even[0], *(_by_day(t, assumptions) for t in even[1:-1]), even[-1]]
    in_order = all(a < b for a, b in pairwise(moved))
    return tuple(moved if in_order else even)


def _by_day(moment: datetime, assumptions: Assumptions) -> datetime:
    morning = clock(assumptions["trip.leave_local_h"])
    if moment.time() < morning:
        return datetime.combine(moment.date(), morning)
    if moment.time() > clock(assumptions["trip.latest_departure_local_h"]):
        return datetime.combine(moment.date() + timedelta(days=1), morning)
    return moment


@dataclass(frozen=True, slots=True)
class Flexibility:
    """How far a trip may slip, out and home, in hours."""

    earlier_h: float
    later_h: float
    return_earlier_h: float
    return_later_h: float


def usual_flexibility(nights: int, assumptions: Assumptions) -> Flexibility:
    """Return the flexibility of a trip whose owner said nothing; a trip with nights can start a day late."""
    later = assumptions["trip.overnight_later_h"] if nights > 0 else assumptions["trip.later_h"]
    return Flexibility(assumptions["trip.earlier_h"], later, assumptions["trip.return_earlier_h"],
                       assumptions["trip.return_later_h"])


NIGHT_BEFORE_H = 12.0
"""Who may leave so much earlier may leave the evening before. [h]"""


def usual_evening_h(must_go: bool, earlier_h: float | None, assumptions: Assumptions) -> float:
    """Return how long before plan somebody who said nothing leaves the evening before; 0 for who does not. [h]

    Who has to be there does, unless the list says that the trip leaves only a few hours earlier.

    Parameters
    ----------
    earlier_h : float or None   As the list says it. [h]
    """
    if not must_go or (earlier_h is not None and earlier_h < NIGHT_BEFORE_H):
        return 0.0
    usual_h = float(assumptions["trip.evening_before_h"])
    return usual_h if earlier_h is None else min(earlier_h, usual_h)


@dataclass(frozen=True, slots=True)
class Moves:
    """By how many days a trip may be moved, and in which steps."""

    days_earlier: int = 0
    days_later: int = 0
    day_step: int = 1


def usual_moves(optional: bool, assumptions: Assumptions) -> Moves:
    """Return the moves of a trip whose owner said nothing: one that may be dropped goes a week later, the same day."""
    return Moves(0, int(assumptions["trip.optional_days_later"]), WEEK_DAYS) if optional else Moves()


def usual_bags_lb(people: int, nights: int, assumptions: Assumptions) -> float:
    """Return the weight of bags when the user gave none: a bag each by day, a heavier one for nights."""
    each = assumptions["trip.bag_overnight_lb"] if nights > 0 else assumptions["trip.bag_day_lb"]
    return float(people * each)


def trips_in_order(trips: Sequence[Trip]) -> tuple[Trip, ...]:
    """Return trips by departure; those of the same minute stay in the user's order."""
    return tuple(sorted(trips, key=lambda trip: trip.departs_local[0]))
