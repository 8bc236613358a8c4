"""A dropped logbook, calendar or spreadsheet: read, shown with what is doubtful, taken into the trips when asked."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Literal

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.columns import suggested_columns
from missionsim.study.inputs.csv_text import head_of
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.other_files import TABLES, read_table_text
from missionsim.study.inputs.trip_list import COLUMNS, ListContext, ListFormat, read_trips
from missionsim.year.trips import Trip, TripTable

MOST_SHOWN = 400
SAMPLE = 4

Rows = Literal["trips", "legs"]


@dataclass(frozen=True)
class Dropped:
    """A file as it was dropped, and how its columns seem to be meant.

    Parameters
    ----------
    file : TextFile
    headings : tuple of str
    below : tuple of rows     Cells under them.
    columns : mapping         Our column to its heading.
    rows : str                `trips` or `legs`.
    """

    file: TextFile
    headings: tuple[str, ...]
    below: tuple[Sequence[str], ...]
    columns: Mapping[str, str]
    rows: Rows


def dropped(name: str, data: bytes, context: ListContext) -> Dropped:
    """Return a dropped file with the columns suggested.

    Raises
    ------
    InputError   It is no table that can be read.
    """
    plain = Path(name).name or "trips.csv"
    if Path(plain).suffix.lower() not in TABLES:
        endings = ", ".join(sorted(t for t in TABLES if t))
        raise InputError([Fault(plain, "", "is no table", f"a file ending in {endings}")])
    with TemporaryDirectory(prefix="missionsim-") as folder:
        path = Path(folder) / f"table{Path(plain).suffix.lower()}"      # its own name may be none a file can have
        path.write_bytes(data)
        file = read_table_text(path, plain)
    headings, below = head_of(file)
    found = suggested_columns(headings, below, context.find, context.towns)
    return Dropped(file, tuple(headings), tuple(below), found.columns, found.rows)


def preview(given: Dropped, columns: Mapping[str, str], rows: Rows, context: ListContext) -> dict[str, Any]:
    """Return how the file reads under some columns: trips good and doubtful, rows set aside, notes, faults.

    Parameters
    ----------
    given : Dropped         The file as it was dropped.
    columns : mapping       Our column by heading.
    rows : Rows
    context : ListContext   Home, rows and date format of a list.
    """
    head = {"name": given.file.name, "headings": list(given.headings), "columns": dict(columns), "rows": rows,
            "ours": list(COLUMNS), "sample": [list(r) for r in given.below[:SAMPLE]]}
    try:
        table = read_table(given, columns, rows, context)
    except InputError as error:
        return head | {"faults": [str(f) for f in error.faults[:MOST_SHOWN]], "trips": [], "aside": [], "notes": []}
    doubtful = set(_overlapping(table))
    trips = [{"words": _words(t), "doubtful": t.trip_id in doubtful} for t in list(table)[:MOST_SHOWN]]
    aside = [{"line": s.line, "what": s.what, "why": s.why} for s in table.set_aside]
    aside += [{"line": u.line, "what": f"{u.from_place} to {u.to_place}", "why": u.why} for u in table.unstitched]
    return head | {"faults": [], "trips": trips, "count": len(table), "aside": aside[:MOST_SHOWN],
                   "notes": list(table.notes), "local_flights": table.local_flights, "local_h": round(table.local_h, 1),
                   "year": table.year}


def read_table(given: Dropped, columns: Mapping[str, str], rows: Rows, context: ListContext) -> TripTable:
    """Return the trips of a dropped file under some columns.

    Parameters
    ----------
    given : Dropped         The file as it was dropped.
    columns : mapping       Our column by heading.
    rows : Rows
    context : ListContext   Home, rows and date format of a list.

    Raises
    ------
    InputError   With every fault.
    """
    return read_trips(given.file, ListFormat(dict(columns), rows), context)


def _overlapping(table: Iterable[Trip]) -> Iterable[str]:
    """Yield trips that leave while another is away: one aircraft flies one of them."""
    before: Trip | None = None
    for trip in table:
        if before is not None and trip.departs_local[0] < before.departs_local[-1]:
            yield trip.trip_id
        if before is None or trip.departs_local[-1] > before.departs_local[-1]:
            before = trip


def _words(trip: Trip) -> str:
    out, home = trip.departs_local[0], trip.departs_local[-1]
    back = f"{home:%H:%M}" if home.date() == out.date() else f"{home:%b} {home.day}"
    what = f", {trip.purpose}" if trip.purpose else ""
    return f"{out:%b} {out.day} {out:%H:%M}: {' '.join(trip.destinations)}, home {back}, {trip.people} aboard{what}"
