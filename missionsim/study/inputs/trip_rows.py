"""One row of a trip list as a trip, with the usual times, bags and flexibility where the row says nothing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, time, timedelta
from itertools import pairwise
from typing import Literal

from missionsim.base.assumptions import Assumptions
from missionsim.study.inputs.beyond_weather import Unflyable
from missionsim.study.inputs.csv_cells import Moment, parse_clock, parse_moment
from missionsim.study.inputs.csv_rows import Find, RowReader
from missionsim.study.inputs.csv_text import Row
from missionsim.study.inputs.places import Towns
from missionsim.year.schedule import MOST_DAYS
from missionsim.year.trips import (
    NIGHT_BEFORE_H,
    Moves,
    Trip,
    TripTable,
    first_departure,
    last_departure,
    plan_departures,
    usual_bags_lb,
    usual_evening_h,
    usual_flexibility,
    usual_moves,
    utc_hours,
)

COLUMNS = ("trip_id", "date", "time", "from", "to", "return", "return_time", "nights", "leaves", "people",
           "passengers", "adults", "children", "adults_least", "bags_lb", "must_go", "must_be_possible",
           "optional_value_usd", "substitute_usd", "substitute_h", "earlier_h", "later_h", "return_earlier_h",
           "return_later_h", "days_earlier", "days_later", "evening_before", "moved_usd",
           "moved_h", "purpose", "member", "fuel_stop", "hours")
"""Every column that means something; only `date` and `to` are needed."""

MOST_PLACES = 12


@dataclass(frozen=True, slots=True)
class ListFormat:
    """How a trip list is written.

    Parameters
    ----------
    columns : mapping of str       Our column to the file's heading, where it differs.
    rows : str                     `trips`: one row a trip; `legs`: one row a leg of a logbook.
    date_format : str              `auto` or the order of dates with slashes.
    decimal_comma : bool or None   None decides by the file.
    delimiter : str or None        comma, semicolon, tab or bar; None finds it in the header.
    """

    columns: Mapping[str, str] = field(default_factory=dict)
    rows: Literal["trips", "legs"] = "trips"
    date_format: Literal["auto", "year-month-day", "month/day/year", "day/month/year"] = "auto"
    decimal_comma: bool | None = None
    delimiter: str | None = None


@dataclass(frozen=True)
class ListContext:
    """What reading a list needs from outside the file; `unflyable` says why an airport cannot be flown to."""

    home: str
    timezone: str
    find: Find
    assumptions: Assumptions
    year: int | None = None
    towns: Towns | None = None
    unflyable: Unflyable | None = None


def trip_of_row(reader: RowReader, row: Row, context: ListContext) -> Trip | None:
    """Return the trip of a row, or None when it is none: it has faults, or is set aside (the reader keeps both)."""
    before = len(reader.faults)
    stops = _stops(reader, row, context)
    if stops is None:
        return None
    first, last, zones = _out_and_home(reader, row, context, stops)
    adults, children, bags_lb, said = people_on_board(reader, row, context)
    if len(reader.faults) > before or first is None or last is None:
        return None
    trip = Trip(row.get("trip_id") or f"line {row.line}", tuple(stops),
                _departures(reader, row, context, stops, first, last), adults, children, bags_lb,
                purpose=row.get("purpose")[:200], member=row.get("member") or None, party_said=said)
    trip = with_wishes(reader, row, trip, context.assumptions)
    _check_order(reader, row, trip, zones)
    return trip if len(reader.faults) == before else None


LOCAL = re.compile(r"(?:[A-Za-z0-9]{3,4}[\s,/-]+(?=local|lcl|pattern))?"
                   r"(?:local|lcl|pattern|practice|circuits|touch\s*and\s*goes|t&g)(?:\s*(?:flight|area|practice))?",
                   re.IGNORECASE)
SIMULATOR = re.compile(r"\b(?:simulator|sim|AATD|BATD|FTD|FFS|flight training device)\b", re.IGNORECASE)


def _stops(reader: RowReader, row: Row, context: ListContext) -> list[str] | None:
    """Return home, the places and home again; None where the row is set aside."""
    if reader.lenient and _no_flight(reader, row):
        return None
    said = reader.places(row, "from") if row.get("from") else None
    start = said[0].ident if said else context.home
    if start != context.home:
        reader.fault(row, "from", f"the trip starts at {start}", f"trips start and end at home, {context.home}; "
                     "a logbook of single legs is read with `rows: legs`")
    found = reader.places(row, "to") if row.get("to") else ()
    if found is None and row.line in reader.set_aside:
        return None
    places = [airport.ident for airport in found or ()]
    while places and places[0] == context.home:
        places = places[1:]
    while places and places[-1] == context.home:
        places = places[:-1]
    stops = [context.home, *places, context.home]
    if not row.get("to"):
        reader.fault(row, "to", "is empty", "one or several airport identifiers")
    elif not places and found and reader.lenient:
        count_local(reader, row)
        return None
    elif not places and not reader.failed(row, "to"):
        reader.fault(row, "to", f"the trip goes nowhere but home ({context.home})", "another airport")
    elif any(a == b for a, b in pairwise(stops)):
        reader.fault(row, "to", "the same place comes twice in a row", "each stop once")
    elif len(places) > MOST_PLACES:
        reader.fault(row, "to", f"names {len(places)} places", f"at most {MOST_PLACES}")
    return stops


def _no_flight(reader: RowReader, row: Row) -> bool:
    """Put a row aside that is no flight to anywhere: no place, a simulator, a local flight."""
    if LOCAL.fullmatch(row.get("to")):
        count_local(reader, row)
    elif not row.get("to"):
        reader.put_aside(row, row.text, "a simulator" if SIMULATOR.search(row.text) else "names no place")
    else:
        return False
    return True


def count_local(reader: RowReader, row: Row) -> None:
    """Count a flight that lands where it started."""
    reader.local_flights += 1
    reader.local_h += reader.hours(row, "hours")


def _out_and_home(reader: RowReader, row: Row, context: ListContext, stops: list[str],
                  ) -> tuple[datetime | None, datetime | None, list[str]]:
    """Return planned departure from home and from the last place, each on its own clock, and the zones."""
    zones = [reader.zone_of(stop, context.timezone) for stop in stops]
    out = reader.moment(row, "date", "time", zones[0])
    if out is None:
        return None, None, zones
    first = first_departure(out.day, out.at, context.assumptions)
    home = _home_moment(reader, row, out, zones[-2])
    if home is None:
        return first, None, zones
    last = last_departure(first, home.day, home.at, len(stops) - 2, context.assumptions)
    longest = context.assumptions["trip.most_nights"]
    if (home.day - out.day).days > longest:
        reader.fault(row, "return", f"comes home {(home.day - out.day).days} days later", f"at most {longest:g} nights")
    elif home.day < out.day:
        reader.fault(row, "return", f"comes home on {home.day}, before it leaves on {out.day}", "a later day")
    return first, last, zones


def _home_moment(reader: RowReader, row: Row, out: Moment, zone: str) -> Moment | None:
    """Return day and time of the journey home from `return` (date, date and time, or a bare time) or `nights`."""
    nights = reader.number(row, "nights", 0, 366, whole=True)
    text = row.get("return")
    day = out.day + timedelta(days=int(nights or 0))
    home: Moment | None = Moment(day, reader.clock(row, "return_time"))
    if text and _bare_clock(text):
        home = Moment(day, parse_clock(text))
    elif text:
        home = reader.moment(row, "return", "return_time", zone)
        if home is not None and nights is not None and home.day != day:
            reader.fault(row, "nights", f"is {nights:g}, but {home.day} is {(home.day - out.day).days} nights after "
                         f"{out.day}", "one of the two")
    return home


def _bare_clock(text: str) -> bool:
    if not (":" in text or re.search(r"[ap]\.?m", text, re.IGNORECASE) or re.fullmatch(r"0?[.,]\d+", text)):
        return False
    try:
        parse_clock(text)
    except ValueError:
        return False
    return True


def _departures(reader: RowReader, row: Row, context: ListContext, stops: list[str], first: datetime,
                last: datetime) -> tuple[datetime, ...]:
    """Return a departure a leg: the user's `leaves` where given, else spread between first and last."""
    legs = len(stops) - 1
    texts = [t for t in re.split(r"\s*[;|]\s*", row.get("leaves")) if t]
    planned = plan_departures(first, last, legs, context.assumptions)
    if not texts:
        return planned
    if len(texts) != legs - 1:
        reader.fault(row, "leaves", f"has {len(texts)} departures", f"{legs - 1}: one for each leg after the first")
        return planned
    moments = [reader.parsed(row, "leaves", t, lambda t: parse_moment(t, reader.order)) for t in texts]
    if any(m is None or m.at is None for m in moments):
        reader.fault(row, "leaves", f"is {row.get('leaves')!r}", "dates with times, such as 2025-03-04 11:30")
        return planned
    return (first, *(datetime.combine(m.day, m.at or time(0)) for m in moments if m is not None))


def _check_order(reader: RowReader, row: Row, trip: Trip, zones: list[str]) -> None:
    year = trip.departs_local[0].year
    hours = [utc_hours(t, z, year) for t, z in zip(trip.departs_local, zones, strict=False)]
    if any(b < a for a, b in pairwise(hours)):
        column = "leaves" if row.get("leaves") else "return_time" if row.get("return_time") else "return"
        when = f"{trip.departs_local[-1]:%Y-%m-%d %H:%M}"
        reader.fault(row, column, f"starts for home at {when}, before it leaves", "times in order")


def people_on_board(reader: RowReader, row: Row, context: ListContext) -> tuple[int, int, float, bool]:
    """Return adults, children, bags, and whether the row says who comes; everybody on board counts, the pilot too."""
    whole, beside = reader.party(row, "people", 0), reader.party(row, "passengers", 1)
    counted = whole or beside
    adults = reader.number(row, "adults", 1, 20, whole=True)
    kids = reader.number(row, "children", 0, 19, whole=True)
    children = kids if kids is not None else float(counted.children) if counted is not None and adults is None else 0.0
    total = None if counted is None else counted.adults + counted.children
    said = not (total is None and adults is None and kids is None)
    if adults is None:
        adults = context.assumptions["trip.adults"] if total is None else total - children
    elif total is not None and total != adults + children:
        reader.fault(row, "people", f"is {total:g}, but {adults:g} adults and {children:g} children are "
                     f"{adults + children:g}", "the sum, pilot included")
    if adults < 1:
        reader.fault(row, "children", f"is {children:g} of {total or 0:g} people", "at least one adult, the pilot")
    bags = reader.weight_lb(row, "bags_lb", 5_000)
    return int(adults), int(children), -1.0 if bags is None else bags, said


def with_wishes(reader: RowReader, row: Row, trip: Trip, assumptions: Assumptions) -> Trip:
    """Fill in bags, must-go, value and flexibility, the usual ones where the row says nothing.

    Parameters
    ----------
    reader : RowReader   Takes faults.
    row : Row
    trip : Trip          As the row says.
    assumptions : Assumptions
    """
    usual = usual_flexibility(trip.nights, assumptions)
    must_go = reader.yes(row, "must_go")
    value = reader.number(row, "optional_value_usd", 0, 1_000_000)
    if must_go and value is not None:
        reader.fault(row, "optional_value_usd", f"is {value:g} on a trip that must go", "one of the two")
    moves = _moves(reader, row, usual_moves(value is not None, assumptions))
    earlier_h = reader.number(row, "earlier_h", 0, 240)
    evening_h = usual_evening_h(must_go, earlier_h, assumptions)
    if row.get("evening_before"):
        far_h = None if earlier_h is None or earlier_h < NIGHT_BEFORE_H else earlier_h
        evening_h = usual_evening_h(reader.yes(row, "evening_before"), far_h, assumptions)
    bags = trip.bags_lb if trip.bags_lb >= 0 else usual_bags_lb(trip.people, trip.nights, assumptions)
    return replace(
        trip, bags_lb=bags, must_go=must_go, must_be_possible=reader.yes(row, "must_be_possible"),
        adults_least=_adults_least(reader, row, trip.adults),
        optional_value_usd=value, substitute_usd=reader.number(row, "substitute_usd", 0, 1_000_000),
        substitute_h=reader.number(row, "substitute_h", 0, 2_000),
        earlier_h=usual.earlier_h if earlier_h is None else earlier_h, evening_h=evening_h,
        later_h=_given(reader, row, "later_h", usual.later_h),
        return_earlier_h=_given(reader, row, "return_earlier_h", usual.return_earlier_h),
        return_later_h=_given(reader, row, "return_later_h", usual.return_later_h),
        days_earlier=moves.days_earlier, days_later=moves.days_later, day_step=moves.day_step,
        moved_usd=reader.number(row, "moved_usd", 0, 1_000_000), moved_h=reader.number(row, "moved_h", 0, 500))


def _adults_least(reader: RowReader, row: Row, adults: int) -> int | None:
    """Return how many adults go at least, the pilot among them, when not all fit; None for everybody."""
    least = reader.number(row, "adults_least", 1, 20, whole=True)
    if least is not None and least > adults:
        reader.fault(row, "adults_least", f"is {least:g} of {adults} adults", "as many as go at most, or fewer")
    return None if least is None else int(least)


def _moves(reader: RowReader, row: Row, usual: Moves) -> Moves:
    """Return by how many days a trip may be moved; once a number is given, to any day within."""
    given = [reader.number(row, column, 0, MOST_DAYS) for column in ("days_earlier", "days_later")]
    return usual if given == [None, None] else Moves(*(int(days or 0) for days in given))


def _given(reader: RowReader, row: Row, column: str, usual_h: float) -> float:
    value = reader.number(row, column, 0, 240)
    return usual_h if value is None else value


def _optional(value: float | None) -> str:
    return "" if value is None else f"{value:g}"


def as_rows(table: TripTable) -> list[dict[str, str]]:
    """Return a trip table as rows under our own column names; reading them back gives the same trips."""
    rows = []
    for trip in table:
        further = ";".join(f"{t:%Y-%m-%d %H:%M}" for t in trip.departs_local[1:])
        rows.append({
            "trip_id": trip.trip_id, "date": f"{trip.departs_local[0]:%Y-%m-%d}",
            "time": f"{trip.departs_local[0]:%H:%M}", "from": trip.stops[0], "to": " ".join(trip.destinations),
            "return": f"{trip.departs_local[-1]:%Y-%m-%d}", "return_time": f"{trip.departs_local[-1]:%H:%M}",
            "leaves": further if trip.legs > 2 else "", "adults": str(trip.adults) if trip.party_said else "",
            "children": str(trip.children) if trip.party_said else "",
            "adults_least": "" if trip.adults_least is None else str(trip.adults_least),
            "bags_lb": f"{trip.bags_lb:g}", "must_go": "yes" if trip.must_go else "no",
            "must_be_possible": "yes" if trip.must_be_possible else "no",
            "optional_value_usd": _optional(trip.optional_value_usd), "substitute_usd": _optional(trip.substitute_usd),
            "substitute_h": _optional(trip.substitute_h),
            "earlier_h": f"{trip.earlier_h:g}", "later_h": f"{trip.later_h:g}",
            "return_earlier_h": f"{trip.return_earlier_h:g}", "return_later_h": f"{trip.return_later_h:g}",
            "days_earlier": "" if trip.day_step > 1 else str(trip.days_earlier),
            "days_later": "" if trip.day_step > 1 else str(trip.days_later),
            "evening_before": "yes" if trip.evening_h else "no",
            "moved_usd": _optional(trip.moved_usd), "moved_h": _optional(trip.moved_h),
            "purpose": trip.purpose, "member": trip.member or ""})
    return rows
