"""Join the legs of a logbook to trips from home to home."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from itertools import pairwise

from missionsim.study.inputs.csv_cells import Moment
from missionsim.study.inputs.csv_rows import RowReader
from missionsim.study.inputs.csv_text import Row
from missionsim.study.inputs.trip_rows import LOCAL, SIMULATOR, ListContext, count_local, people_on_board, with_wishes
from missionsim.year.trips import Trip, Unstitched, first_departure, last_departure, plan_departures

MOST_LEGS_A_TRIP = 24


@dataclass(frozen=True, slots=True)
class _Leg:
    row: Row
    day: date
    moment: Moment
    from_place: str
    to_place: str
    fuel_only: bool
    crew: tuple[int, int, float, bool]


def stitched(reader: RowReader, context: ListContext) -> tuple[list[Trip], list[Unstitched], list[str]]:
    """Return trips, the legs that make none, and notes for the reader of the result.

    Legs are taken in order of date and time, then of the file (a file that runs backwards is turned). A trip opens
    when a leg leaves home and closes when one arrives there; a leg that does not start where the last one ended
    breaks it. A landing marked as `fuel_stop` is no place of the trip: each candidate chooses its own fuel stops.

    Parameters
    ----------
    reader : RowReader        Holds the table; keeps faults of cells.
    context : ListContext
    """
    legs = _in_time(_legs(reader, context))
    trips: list[Trip] = []
    left: list[Unstitched] = []
    run: list[_Leg] = []
    for leg in legs:
        if leg.from_place == leg.to_place:
            count_local(reader, leg.row)
            continue
        run, why = _joined(run, leg, context.home, left)
        if why:
            left.append(_unstitched(leg, why))
        elif run and run[-1].to_place == context.home:
            trip = None if _for_the_shop(reader, run) else _trip(reader, run, context)
            trips += [trip] if trip else []
            shop = run[0].row.line in reader.set_aside
            left += [] if trip or shop else [_unstitched(x, "the trip touches no other place") for x in run]
            run = []
    left += [_unstitched(x, "the log ends before the trip comes home") for x in run]
    marked = "fuel_stop" in reader.table.headings
    notes = ["a logbook holds only the trips that went: what was cancelled, and why, is not in it"]
    notes += [] if marked else ["stops of a logbook are all taken as places the trip had to visit; mark landings that "
                                "were only for fuel in a column `fuel_stop`"]
    return trips, sorted(left, key=lambda u: u.line), notes


_UPKEEP = re.compile(r"\b(?:maintenance|mx|annual(?: inspection)?|oil change|(?:avionics|paint|engine|prop\w*) shop|"
                     r"test flight|check flight|ferry|reposition\w*|pitot.static|weigh-?in)\b", re.IGNORECASE)


def _for_the_shop(reader: RowReader, run: Sequence[_Leg]) -> bool:
    """Put legs aside that only carry the aircraft to or from a shop: upkeep is simulated, so they are no errands."""
    said = [leg.row.get("purpose") for leg in run if leg.row.get("purpose")]
    if not said or not all(_UPKEEP.search(text) for text in said):
        return False
    for leg in run:
        reader.put_aside(leg.row, leg.row.text, "a flight to the shop or to position the aircraft")
    return True


def _joined(run: list[_Leg], leg: _Leg, home: str, left: list[Unstitched]) -> tuple[list[_Leg], str]:
    """Return the run with the leg joined, or why the leg makes no trip; a run it breaks goes to `left`."""
    if run and (leg.from_place != run[-1].to_place or len(run) >= MOST_LEGS_A_TRIP):
        why = f"the next leg (line {leg.row.line}) starts at {leg.from_place}, not {run[-1].to_place}"
        left.extend(_unstitched(x, why if leg.from_place != run[-1].to_place else
                                f"more than {MOST_LEGS_A_TRIP} legs before coming home") for x in run)
        run = []
    if not run and leg.from_place != home:
        return run, f"starts at {leg.from_place}, with no leg from home before it"
    return [*run, leg], ""


def _unstitched(leg: _Leg, why: str) -> Unstitched:
    return Unstitched(leg.row.line, leg.day, leg.from_place, leg.to_place, why)


def _legs(reader: RowReader, context: ListContext) -> list[_Leg]:
    legs: list[_Leg] = []
    for row in reader.table.rows:
        legs += _legs_of_row(reader, row, context)
    return legs


def _legs_of_row(reader: RowReader, row: Row, context: ListContext) -> list[_Leg]:
    """Return the legs of a row; a row with several destinations is as many legs on one day."""
    before = len(reader.faults)
    if _no_leg(reader, row):
        return []
    said = reader.places(row, "from") or ()
    places = reader.places(row, "to") or ()
    if not row.get("from") and len(places) > 1:
        said, places = places[:1], places[1:]  # a column with the whole route
    start = said[0] if said else None
    zone = str(start.timezone) if start is not None else context.timezone
    moment = reader.moment(row, "date", "time", zone)
    crew = people_on_board(reader, row, context)
    fuel = reader.yes(row, "fuel_stop")
    if len(reader.faults) > before or row.line in reader.set_aside or start is None or moment is None:
        return []
    stops = [start.ident, *(airport.ident for airport in places)]
    return [_Leg(row, moment.day, moment if i == 0 else Moment(moment.day, None), a, b, fuel and i == len(places) - 1,
                 crew) for i, (a, b) in enumerate(pairwise(stops))]


def _no_leg(reader: RowReader, row: Row) -> bool:
    """Put a row aside that is no leg: a simulator, ground school, a flight that stays local."""
    route = "from" not in reader.table.headings
    both = bool((route or row.get("from")) and row.get("to"))
    if LOCAL.fullmatch(row.get("to")) or (row.get("from") == row.get("to") and both and not SIMULATOR.search(row.text)):
        count_local(reader, row)
    elif both and not (row.get("from") == row.get("to") and SIMULATOR.search(row.text)):
        return False
    else:
        why = "a simulator" if SIMULATOR.search(row.text) else "names no place to fly from and to"
        reader.put_aside(row, row.text, why)
    return True


def _in_time(legs: list[_Leg]) -> list[_Leg]:
    """Return legs by day; within a day by time where every leg of the day has one, else as the file has them."""
    falling = sum(a.day > b.day for a, b in pairwise(legs)) > sum(a.day < b.day for a, b in pairwise(legs))
    legs = sorted(legs[::-1] if falling else legs, key=lambda leg: leg.day)
    days: dict[date, list[_Leg]] = {}
    for leg in legs:
        days.setdefault(leg.day, []).append(leg)
    return [leg for day in days.values() for leg in _in_day(day)]


def _in_day(legs: list[_Leg]) -> list[_Leg]:
    if any(leg.moment.at is None for leg in legs):
        return legs
    # Clocks of two zones differ by an hour or two: the chain of places decides where the file already has one.
    if all(a.to_place == b.from_place for a, b in pairwise(legs)):
        return legs
    return sorted(legs, key=lambda leg: leg.moment.at or datetime.min.time())


def _trip(reader: RowReader, run: Sequence[_Leg], context: ListContext) -> Trip | None:
    """Return the trip of a run of legs from home to home, without stops that were only for fuel."""
    kept = [leg for i, leg in enumerate(run) if i == 0 or not run[i - 1].fuel_only]
    stops = (kept[0].from_place, *(leg.to_place for leg in run if not leg.fuel_only or leg is run[-1]))
    if len(stops) < 3:
        return None
    row = run[0].row
    crew = [max(leg.crew[i] for leg in run) for i in range(3)]
    purpose = next((leg.row.get("purpose") for leg in run if leg.row.get("purpose")), "")
    trip = Trip(row.get("trip_id") or f"line {row.line}", stops, _departures(kept, context),
                int(crew[0]), int(crew[1]), float(crew[2]), purpose=purpose[:200], member=row.get("member") or None,
                party_said=any(leg.crew[3] for leg in run))
    return with_wishes(reader, row, trip, context.assumptions)


def _departures(kept: Sequence[_Leg], context: ListContext) -> tuple[datetime, ...]:
    """Return logged times; a leg without one gets a share of the time between its neighbours on its own day."""
    first = first_departure(kept[0].day, kept[0].moment.at, context.assumptions)
    last = last_departure(first, kept[-1].day, kept[-1].moment.at, len(kept) - 1, context.assumptions)
    even = plan_departures(first, last, len(kept), context.assumptions)
    times = [first]
    for leg, planned in zip(kept[1:-1], even[1:-1], strict=True):
        if leg.moment.at is not None:
            times.append(datetime.combine(leg.day, leg.moment.at))
        else:
            usual = planned if planned.date() == leg.day else first_departure(leg.day, None, context.assumptions)
            times.append(max(usual, times[-1] + timedelta(minutes=30) if times[-1].date() == leg.day else usual))
    return (*times, last)
