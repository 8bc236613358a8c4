"""Read a year of trips from a table as a person exports it: one row a trip, or one row a leg of a logbook."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import MAXYEAR, MINYEAR, date

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.csv_cells import DateOrder, slash_order
from missionsim.study.inputs.csv_rows import RowReader
from missionsim.study.inputs.csv_text import CsvTable, plain_heading, read_table
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.logbook import stitched
from missionsim.study.inputs.other_files import CALENDARS, SHEETS
from missionsim.study.inputs.trip_rows import COLUMNS, ListContext, ListFormat, as_rows, trip_of_row
from missionsim.year.schedule import DAYS_AFTER_YEAR
from missionsim.year.trips import Trip, TripTable, Unstitched, skipped_note, trips_in_order

__all__ = ["COLUMNS", "ListContext", "ListFormat", "as_rows", "read_trips"]

MOST_TRIPS = 20_000
ROUTES = frozenset({"route", "route_of_flight"})
"""Headings of a column that holds a whole route, the place of departure too."""


def read_trips(file: TextFile, form: ListFormat, context: ListContext) -> TripTable:
    """Return the trips of a list that start in the year, or all faults of the list at once.

    Without a year in the study, the year in which most trips start counts; trips of other years are left out and
    counted. A time of exactly midnight is how calendars write 'no time' and is taken as none.

    Parameters
    ----------
    file : TextFile
    form : ListFormat
    context : ListContext   Home airport and its time zone, look-up of airports, assumptions, year.

    Returns
    -------
    TripTable

    Raises
    ------
    InputError              Every fault with the line of its row.
    """
    route = plain_heading(form.columns.get("to", "")) in ROUTES
    required = ("date", "to") if form.rows == "trips" or route else ("date", "from", "to")
    table = read_table(file, COLUMNS, required, form.columns, form.delimiter)
    order, note = _order(table, form)
    suffix = file.path.suffix.lower()
    lenient = bool(form.columns) or form.rows == "legs" or suffix in SHEETS | CALENDARS
    reader = RowReader(table, order, form.decimal_comma, context.find, context.towns, lenient, suffix in CALENDARS,
                       unflyable=context.unflyable)
    notes = [*file.notes, *note]
    unstitched: Sequence[Unstitched] = ()
    if form.rows == "legs":
        trips, unstitched, more = stitched(reader, context)
        notes += more
    else:
        trips = [trip for row in table.rows if (trip := trip_of_row(reader, row, context)) is not None]
    _refuse_twins(reader, table, trips)
    _refuse_late(reader, table, trips, _year(context, trips))
    if reader.faults:
        raise InputError(reader.faults)
    notes = [*_party_notes(reader, context, trips), *notes, *reader.place_notes,
             *_skipped_notes(reader, context, trips), *_aside_notes(reader)]
    found = _of_year(file.name, form, context, trips, unstitched, tuple(notes))
    return replace(found, notes=(*found.notes, *_overlap_notes(file.name, found)), local_h=reader.local_h,
                   set_aside=tuple(reader.set_aside[line] for line in sorted(reader.set_aside)),
                   local_flights=reader.local_flights)


def _order(table: CsvTable, form: ListFormat) -> tuple[DateOrder, list[str]]:
    if form.date_format != "auto":
        return form.date_format, []
    cells = [row.get(c) for row in table.rows for c in ("date", "return")]
    order, sure = slash_order(cells)
    if sure:
        return order, []
    return order, [f"{table.name}: dates with slashes read month first; set trips.date_format if the day comes first"]


MOST_PARTIES_SAID = 6


def _party_notes(reader: RowReader, context: ListContext, trips: Sequence[Trip]) -> list[str]:
    """Say how many trips do not tell who comes, which columns were not read, and what words were taken for."""
    table, alone = reader.table, [trip for trip in trips if not trip.party_said]
    unused = f"columns not used: {', '.join(table.unused)}" if table.unused else ""
    notes = []
    if alone:
        adults = int(context.assumptions["trip.adults"])
        party = "one person alone, the pilot" if adults == 1 else f"{adults} adults"
        which = f"all {len(trips)} trips" if len(alone) == len(trips) else f"{len(alone)} of {len(trips)} trips"
        which = "the only trip" if len(trips) == 1 else which
        notes = [f"{table.name}: nothing tells who comes on {which}: taken as {party}{'; ' if unused else ''}{unused}. "
                 "Add a column `people`, everybody aboard, or say which heading it is (`columns: {people: Heading}`)"]
    elif unused:
        notes = [f"{table.name}: {unused}"]
    if reader.parties:
        told = [f"{text[:40]!r} as {party.words}" for text, party in list(reader.parties.items())[:MOST_PARTIES_SAID]]
        more = f", and {len(reader.parties) - len(told)} more" if len(reader.parties) > len(told) else ""
        notes.append(f"{table.name}: people counted from words, the pilot among them: {', '.join(told)}{more}")
    if reader.kilograms:
        notes.append(f"{table.name}: bags are read in kilograms")
    return notes


def _skipped_notes(reader: RowReader, context: ListContext, trips: Sequence[Trip]) -> list[str]:
    """Return a note for each departure in an hour that daylight saving skips."""
    zones = {stop: reader.zone_of(stop, context.timezone) for trip in trips for stop in trip.stops}
    said = [(trip, skipped_note(when, zones[stop], stop)) for trip in trips
            for stop, when in zip(trip.stops, trip.departs_local, strict=False)]
    return [f"{reader.table.name}: {trip.trip_id}: {note}" for trip, note in said if note]


def _aside_notes(reader: RowReader) -> list[str]:
    """Say how many rows are no trip, by reason, and how many hours stay local."""
    counts = Counter(row.why.split(";", maxsplit=1)[0] for row in reader.set_aside.values())
    notes = [f"{reader.table.name}: rows set aside, no trips: {', '.join(f'{n} ({why})' for why, n in counts.items())}"
             ] if counts else []
    if reader.local_flights:
        hours = f", {reader.local_h:.1f} h" if reader.local_h else ""
        count = f"local flights: {reader.local_flights}{hours}"
        notes.append(f"{reader.table.name}: {count}; no trips, but hours of a year")
    return notes


MOST_OVERLAPS_SAID = 10


def _overlap_notes(name: str, table: TripTable) -> list[str]:
    """Say which trips are away at one time: one aircraft flies one of them."""
    said = []
    away: dict[str | None, Trip] = {}
    for trip in table:
        before = away.get(trip.member)
        if before is not None and trip.departs_local[0] < before.departs_local[-1]:
            first, home = before.departs_local[0], before.departs_local[-1]
            said.append(f"{before.trip_id} ({first:%b %d %H:%M} to {home:%b %d %H:%M}) and {trip.trip_id} "
                        f"({trip.departs_local[0]:%b %d %H:%M})")
        if before is None or trip.departs_local[-1] > before.departs_local[-1]:
            away[trip.member] = trip
    more = f"; and {len(said) - MOST_OVERLAPS_SAID} more" if len(said) > MOST_OVERLAPS_SAID else ""
    shown = "; ".join(said[:MOST_OVERLAPS_SAID])
    return [f"{name}: two trips at one time, which one aircraft cannot fly: {shown}{more}"] if said else []


def _of_year(name: str, form: ListFormat, context: ListContext, trips: list[Trip], unstitched: Sequence[Unstitched],
             notes: tuple[str, ...]) -> TripTable:
    if not trips and not (form.rows == "legs" and unstitched):
        reasons = [note.split(": ", maxsplit=1)[1] for note in notes if "set aside" in note or "local flights" in note]
        raise InputError([Fault(name, "", "; ".join(["holds no trips", *reasons]), "at least one row below the "
                                "headings with another place than home")])
    if not trips:
        raise InputError([Fault(name, "", f"no legs could be joined to a trip from {context.home} and back; "
                                f"first: {unstitched[0].why}", "a logbook with the legs out and home", "",
                                unstitched[0].line)])
    if len(trips) > MOST_TRIPS:
        raise InputError([Fault(name, "", f"holds {len(trips):,} trips", f"at most {MOST_TRIPS:,}")])
    starts = [trip.departs_local[0] for trip in trips]
    year = _year(context, trips)
    kept = trips_in_order([trip for trip in trips if trip.departs_local[0].year == year])
    if not kept:
        what = f"no trip starts in {year}; the list runs from {min(starts):%Y-%m-%d} to {max(starts):%Y-%m-%d}"
        raise InputError([Fault(name, "", what, "a list of that year, or `year` in the study changed")])
    return TripTable(kept, context.home, year, form.rows == "legs", tuple(unstitched), len(trips) - len(kept), notes)


def _year(context: ListContext, trips: Sequence[Trip]) -> int:
    """Return the study's year, else the one in which most trips start, the later of equals; 0 without any trip."""
    counts = Counter(trip.departs_local[0].year for trip in trips)
    return context.year or max(counts.items(), key=lambda item: (item[1], item[0]), default=(0, 0))[0]


def _refuse_late(reader: RowReader, table: CsvTable, trips: Sequence[Trip], year: int) -> None:
    """Refuse trips of the year that come home so long after it that nobody would see them do so."""
    if not MINYEAR <= year < MAXYEAR:
        return  # no year of the calendar, which is a fault of its own
    rows = {row.get("trip_id") or f"line {row.line}": row for row in table.rows}
    latest = date(year + 1, 1, DAYS_AFTER_YEAR)
    for trip in trips:
        home = trip.departs_local[-1].date()
        if trip.departs_local[0].year == year and home > latest:
            row = rows[trip.trip_id]
            column = next((name for name in ("return", "nights") if row.get(name)), "date")
            reader.fault(row, column, f"comes home on {home}",
                         f"a day until {latest}, {DAYS_AFTER_YEAR} days after the year that is flown, {year}")


def _refuse_twins(reader: RowReader, table: CsvTable, trips: list[Trip]) -> None:
    if "trip_id" not in table.headings or reader.faults:
        return
    seen: dict[str, int] = {}
    for row in table.rows:
        name = row.get("trip_id")
        if name and name in seen:
            reader.fault(row, "trip_id", f"{name!r} is used twice, first in line {seen[name]}", "each trip_id once")
        seen.setdefault(name, row.line)
