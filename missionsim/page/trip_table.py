"""The trips of a study as rows of text: what the page shows, types into and keeps in `trips.csv`."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from missionsim.base.cells import read_cell, safe_cell
from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.files import TextFile
from missionsim.study.inputs.trip_list import COLUMNS, ListContext, ListFormat, read_trips
from missionsim.year.trips import Trip

NAME = "trips.csv"
SHOWN = ("date", "time", "to", "return", "return_time", "adults", "children", "bags_lb", "must_go", "days_earlier",
         "days_later", "purpose")
"""Columns of the page's table; the others of a row are kept as they are."""
FIRST_LINE = "# One row a trip. The page keeps this file; edit it as you like, too."

Cells = Mapping[str, str]


@dataclass(frozen=True)
class TripRow:
    """One trip as text, and as it was read."""

    ident: str
    cells: Cells
    trip: Trip | None = None


def table_text(rows: Iterable[TripRow]) -> str:
    """Return rows as the text of a trip list under our own column names."""
    kept = list(rows)
    used = [name for name in COLUMNS if name in SHOWN or any(row.cells.get(name) for row in kept)]
    names = ["trip_id", *(name for name in used if name != "trip_id")]
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    text.write(FIRST_LINE + "\n")
    writer.writerow(names)
    writer.writerows([safe_cell(c) for c in (row.ident, *(row.cells.get(n, "") for n in names[1:]))] for row in kept)
    return text.getvalue()


def rows_of(text: str) -> list[TripRow]:
    """Return the rows of a trip list under our own column names; rows without a `trip_id` get one."""
    lines = [line for line in text.splitlines() if line.strip() and not line.lstrip().startswith("#")]
    found = [{str(k).strip(): read_cell((v or "").strip()) for k, v in row.items() if k is not None}
             for row in csv.DictReader(lines)]
    rows: list[TripRow] = []
    for cells in found:
        ident = cells.pop("trip_id", "") or next_ident(rows)
        rows.append(TripRow(ident, cells))
    return rows


def next_ident(rows: Sequence[TripRow]) -> str:
    """Return a name for one more trip; names of trips that were taken out do not come back while others stay."""
    numbers = [int(row.ident[1:]) for row in rows if row.ident[:1] == "t" and row.ident[1:].isdigit()]
    return f"t{max(numbers, default=0) + 1}"


def read_row(row: TripRow, context: ListContext) -> tuple[TripRow, list[Fault]]:
    """Return a row with its trip, or without one and with what is wrong, each fault under its column."""
    text = table_text([row])
    try:
        table = read_trips(TextFile(Path(NAME), NAME, text, ""), ListFormat(date_format="auto"), context)
    except InputError as error:
        return TripRow(row.ident, row.cells), list(error.faults)
    trips = list(table)
    if not trips:
        return TripRow(row.ident, row.cells), [Fault(NAME, "date", f"is not in {context.year}", "a day of that year")]
    return TripRow(row.ident, row.cells, trips[0]), []
