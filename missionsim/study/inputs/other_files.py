"""Spreadsheets and calendars as the text of a table, every row at the line a person would count."""

from __future__ import annotations

import csv
import hashlib
import io
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.calendar_rows import read_calendar
from missionsim.study.inputs.files import CSV_BYTES, TextFile, read_bytes, read_text

SHEETS, CALENDARS = frozenset({".xlsx", ".xlsm"}), frozenset({".ics", ".ical", ".ifb"})
TABLES = frozenset({".csv", ".tsv", ".txt", ""}) | SHEETS | CALENDARS
"""Endings of files that may hold trips."""

MOST_CELLS = 20_000_000
"""Cells of a workbook that are looked at; a table may have far fewer."""
_BLANKS_AS_ONE = 64
"""So many cells of a blank row count as one: whole columns are often marked down to the last row."""
MOST_UNPACKED_BYTES = 200_000_000


def read_table_text(path: Path, name: str | None = None) -> TextFile:
    """Return the table of a CSV file, a spreadsheet or a calendar as text with commas.

    Raises
    ------
    InputError   Not there, not readable, or not what its ending says.
    """
    name = name or str(path)
    suffix = path.suffix.lower()
    if suffix in SHEETS:
        return _spreadsheet(path, name)
    if suffix in CALENDARS:
        return read_calendar(path, name)
    return read_text(path, name)


def _spreadsheet(path: Path, name: str) -> TextFile:
    from openpyxl import load_workbook  # noqa: PLC0415  (a sixth of a second that other files need not wait for)
    data = read_bytes(path, name, CSV_BYTES)
    try:
        _refuse_unpacking(data, name)
        book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
        sheets = list(_sheets(book.worksheets, name))
    except (InputError, MemoryError):
        raise
    except Exception as error:      # the reader stumbles over damaged files in as many ways as there are
        raise InputError([Fault(name, "", f"is not a readable spreadsheet ({error!s:.80})", "an .xlsx file, or the "
                                "sheet saved as CSV")]) from None
    filled = [(title, rows) for title, rows in sheets if sum(any(row) for row in rows) > 1]
    if not filled:
        raise InputError([Fault(name, "", "holds no sheet with rows below headings", "one trip or leg a row")])
    title, rows = filled[0]
    others = ", ".join(t for t, _ in filled[1:])
    notes = (f"{name}: sheet {title!r} is read; others are not: {others}",) if others else ()
    return TextFile(path, name, _as_csv(rows), hashlib.sha256(data).hexdigest(), notes)


def _refuse_unpacking(data: bytes, name: str) -> None:
    """Refuse an archive that unpacks to far more than any list of trips; the sizes it says are those it is held to."""
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        size = sum(part.file_size for part in archive.infolist())
    if size > MOST_UNPACKED_BYTES:
        raise InputError([Fault(name, "", f"unpacks to {size / 1e6:,.0f} MB",
                                f"at most {MOST_UNPACKED_BYTES / 1e6:,.0f} MB")])


def _sheets(sheets: Iterable[Any], name: str) -> Iterator[tuple[str, list[list[str]]]]:
    """Yield title and rows of each sheet, rows that hold anything as wide as the widest."""
    cells = 0
    for sheet in sheets:
        rows: list[list[str]] = []
        sheet.reset_dimensions()    # where a sheet ends is what it holds: some say less, and rows would be lost
        for row in sheet.iter_rows(values_only=True):
            filled = any(value is not None for value in row)
            cells += 1 + len(row) // (1 if filled else _BLANKS_AS_ONE)
            _refuse_many(cells, name)
            rows.append([_cell(value) for value in row] if filled else [])
        width = max(map(len, rows), default=0)
        _refuse_many(width * sum(map(bool, rows)), name)
        yield sheet.title, [row + [""] * (width - len(row)) if row else row for row in rows]


def _refuse_many(cells: int, name: str) -> None:
    if cells > MOST_CELLS:
        raise InputError([Fault(name, "", f"has more than {MOST_CELLS:,} cells", "the list of trips alone")])


def _cell(value: Any) -> str:
    """Return a cell of a spreadsheet as a person would type it; whole numbers without a point."""
    if value is None or isinstance(value, bool):
        return {None: "", True: "yes", False: "no"}[value]
    if isinstance(value, date | time):
        return _moment(value)
    if isinstance(value, timedelta):
        return f"{value.total_seconds() / 3600:.4g}"
    return f"{value:.10g}" if isinstance(value, float) else " ".join(str(value).split())


def _moment(value: date | time) -> str:
    if isinstance(value, datetime):
        return value.strftime("%Y-%m-%d" if value.time() == time(0) else "%Y-%m-%d %H:%M")
    return value.isoformat() if isinstance(value, date) else value.strftime("%H:%M")


def _as_csv(rows: Sequence[Sequence[str]]) -> str:
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    for row in rows:
        if any(row):
            writer.writerow(["'" + row[0] if row and row[0].startswith("#") else row[0], *row[1:]])
        else:
            text.write("\n")
    return text.getvalue()
