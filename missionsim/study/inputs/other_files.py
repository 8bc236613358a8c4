"""Spreadsheets and calendars as the text of a table, every row at the line a person would count."""

from __future__ import annotations

import calendar
import csv
import hashlib
import io
import re
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from datetime import MAXYEAR, date, datetime, time, timedelta
from itertools import islice
from pathlib import Path
from typing import Any

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.csv_text import MOST_ROWS
from missionsim.study.inputs.files import CSV_BYTES, TextFile, read_bytes, read_text

SHEETS, CALENDARS = frozenset({".xlsx", ".xlsm"}), frozenset({".ics", ".ical", ".ifb"})
TABLES = frozenset({".csv", ".tsv", ".txt", ""}) | SHEETS | CALENDARS
"""Endings of files that may hold trips."""

MOST_CELLS = 20_000_000
"""Cells of a workbook that are looked at; a table may have far fewer."""
_BLANKS_AS_ONE = 64
"""So many cells of a blank row count as one: whole columns are often marked down to the last row."""
MOST_UNPACKED_BYTES = 200_000_000
MOST_NAMED = 20
MOST_REPEATS = 400
"""Repeats of one event that are looked at: a year of working days and more."""
EVENT_COLUMNS = ("date", "time", "to", "return", "return_time", "purpose")


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
        return _calendar(path, name)
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


# Calendars


def _calendar(path: Path, name: str) -> TextFile:
    """Return the events of a calendar as rows; each stands at the line where its event begins."""
    from icalendar import Calendar  # noqa: PLC0415
    file = read_text(path, name)
    try:
        calendar = Calendar.from_ical(file.text)
    except (ValueError, LookupError, TypeError, AttributeError, ArithmeticError, RecursionError) as error:
        raise InputError([Fault(name, "", f"is not a readable calendar ({error!s:.80})", "an .ics file")]) from None
    text = io.StringIO(file.text, newline=None)
    lines = [i for i, line in enumerate(text, 1) if line.strip().upper() == "BEGIN:VEVENT"]
    events = list(calendar.walk("VEVENT"))
    rows: dict[int, list[list[str]]] = {}
    off, made, unread = 0, 0, list[str]()
    for line, event in zip(lines, events, strict=False):
        if str(event.get("STATUS", "")).upper() == "CANCELLED":
            off += 1
            continue
        try:
            rows[line] = [_event_row(event, start, end) for start, end in _times(event)]
        except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError):
            unread.append(str(line))
        made += len(rows.get(line, ()))
        if made > MOST_ROWS:
            raise InputError([Fault(name, "", "has too many events and repeats", f"at most {MOST_ROWS:,}", "", line)])
    notes = [*file.notes, f"{name}: an event's times are read as leaving home and starting back"]
    notes += [f"{name}: events that cannot be read, in lines {_first_of(unread)}"] if unread else []
    notes += [f"{name}: {off} cancelled events are left out"] if off else []
    return TextFile(path, name, _padded(rows), file.sha256, tuple(notes))


def _first_of(lines: Sequence[str]) -> str:
    return ", ".join(lines[:MOST_NAMED]) + (f" and {len(lines) - MOST_NAMED} more" if len(lines) > MOST_NAMED else "")


def _padded(rows: dict[int, list[list[str]]]) -> str:
    """Return the rows as text, the first occurrence of each event at its own line."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(EVENT_COLUMNS)
    at = 2
    for line in sorted(rows):
        while at < line:
            text.write("\n")
            at += 1
        for row in rows[line]:
            writer.writerow(row)
            at += 1
    return text.getvalue()


_SAID = re.compile(r"\b(?:[Ff]ly|[Ff]light|[Tt]rip|[Ff]lying)\s+(?:to\s+)?([A-Z0-9]{3,4})\b"
                   r"|(?:->|\bto)\s*([A-Z0-9]{4})\b")
"""An airport in the title of an event without a place."""


def _event_row(event: Any, start: date, end: date | None) -> list[str]:
    """Return an event under our own columns. An all-day event ends the day before its end, by the standard."""
    place = " ".join(str(event.get("LOCATION", "")).split())
    summary = " ".join(str(event.get("SUMMARY", "")).split())
    if not place:
        said = _SAID.search(summary)
        place = (said[1] or said[2]) if said else ""
    day, at = _day_and_time(start)
    if end is None:
        return [day, at, place, "", "", summary]
    if not isinstance(end, datetime):
        end -= timedelta(days=1)
    back, back_at = _day_and_time(max(end, start) if isinstance(end, datetime) == isinstance(start, datetime) else end)
    return [day, at, place, back, back_at, summary]


def _day_and_time(moment: date) -> tuple[str, str]:
    if not isinstance(moment, datetime):
        return moment.isoformat(), ""
    if moment.tzinfo is not None:  # the reader puts it on the clock of the place
        return moment.strftime("%Y-%m-%d %H:%M%z"), ""
    return moment.strftime("%Y-%m-%d"), moment.strftime("%H:%M")


def _times(event: Any) -> Iterator[tuple[date, date | None]]:
    """Yield start and end of an event and of its repeats."""
    if "DTSTART" not in event:
        return
    start = event.decoded("DTSTART")
    end = event.decoded("DTEND") if "DTEND" in event else None
    if end is None and "DURATION" in event:
        end = start + event.decoded("DURATION")
    for offset in _repeats(event, start):
        yield start + offset, None if end is None else end + offset


def _repeats(event: Any, start: date) -> list[timedelta]:
    rule = event.get("RRULE")
    if rule is None:
        return [timedelta(0)]
    if min(rule.get("INTERVAL", [1])) < 1:
        raise ValueError("a step of none goes on without end")
    if rule.get("FREQ", [""])[0] in ("SECONDLY", "MINUTELY"):
        raise ValueError("nobody leaves every minute, and two years hold a million of them")
    first = start.replace(tzinfo=None) if isinstance(start, datetime) else datetime.combine(start, time(0))
    said = event.get("EXDATE")
    groups = said if isinstance(said, list) else [said] if said else []
    without = {e.dt.replace(tzinfo=None) if isinstance(e.dt, datetime) else datetime.combine(e.dt, time(0))
               for group in groups for e in group.dts}
    kept = (moment for moment in _moments(rule.to_ical().decode(), first) if moment not in without)
    return [moment - first for moment in islice(kept, MOST_REPEATS)]


def _moments(rule: str, first: datetime) -> Iterator[datetime]:
    """Yield the moments of a rule in its first year and the next.

    A rule that falls on no day there is, such as 30 February, is followed to the end of the calendar, which takes
    seconds of thousands of years. So it is looked at in the last years that have the same weekdays and leap days.
    """
    from dateutil.rrule import rrulestr  # noqa: PLC0415
    parts = dict(part.split("=", 1) for part in rule.split(";"))
    until = f"{parts.pop('UNTIL', '9999')[:15].rstrip('Z')}T000000"[:15]
    count = int(parts.pop("COUNT")) if "COUNT" in parts else None
    alike = next((year for year in range(MAXYEAR - 1, 9900, -1) if _kind(year) == _kind(first.year)), first.year)
    later = datetime(alike, 1, 1) - datetime(first.year, 1, 1)
    text = ";".join(f"{key}={value}" for key, value in parts.items())
    for moment in islice(rrulestr(text, dtstart=first + later), count):
        if moment.year > alike + 1 or f"{moment - later:%Y%m%dT%H%M%S}" > until:
            return
        yield moment - later


def _kind(year: int) -> tuple[int, ...]:
    """Return what the days of a year and the next follow from: the weekday it begins with, leap years about it."""
    return (calendar.weekday(year, 1, 1), *(calendar.isleap(y) for y in (year - 1, year, year + 1)))


