"""The events of a calendar as rows of a table, repeats and all, each at the line where its event begins."""

from __future__ import annotations

import calendar
import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from datetime import MAXYEAR, UTC, date, datetime, time, timedelta, tzinfo
from itertools import islice
from pathlib import Path
from typing import Any

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.csv_text import MOST_ROWS
from missionsim.study.inputs.files import TextFile, read_text

MOST_NAMED = 20
MOST_REPEATS = 400
"""Repeats of one event that are looked at: a year of working days and more."""
EVENT_COLUMNS = ("date", "time", "to", "return", "return_time", "purpose")


def read_calendar(path: Path, name: str) -> TextFile:
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
    moved, last = _moved(events), _last_year(events)
    rows: dict[int, list[list[str]]] = {}
    off, made, unread = 0, 0, list[str]()
    for line, event in zip(lines, events, strict=False):
        if str(event.get("STATUS", "")).upper() == "CANCELLED":
            off += 1
            continue
        try:
            elsewhere = moved.get(str(event.get("UID", "")), ())
            rows[line] = [_event_row(event, start, end) for start, end in _times(event, elsewhere, last)]
        except (ValueError, TypeError, LookupError, AttributeError, ArithmeticError):
            unread.append(str(line))
        made += len(rows.get(line, ()))
        if made > MOST_ROWS:
            raise InputError([Fault(name, "", "has too many events and repeats", f"at most {MOST_ROWS:,}", "", line)])
    notes = [*file.notes, *_zone_notes(name, events),
             f"{name}: an event's times are read as leaving home and starting back"]
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


def _moved(events: Sequence[Any]) -> dict[str, list[date]]:
    """Return which repeats of an event, by its name, stand as events of their own: moved, changed or called off."""
    found: dict[str, list[date]] = {}
    for event in events:
        at = _moment_of(event.get("RECURRENCE-ID"))
        if at is not None:
            found.setdefault(str(event.get("UID", "")), []).append(at)
    return found


def _moment_of(said: Any) -> date | None:
    """Return the day or moment of a property, None where there is none that can be read."""
    try:
        found = said.dt
    except (ValueError, AttributeError):
        return None
    return found if isinstance(found, date) else None


def _last_year(events: Sequence[Any]) -> int:
    """Return the latest year in which an event is written down."""
    starts = (_moment_of(event.get("DTSTART")) for event in events)
    return max((start.year for start in starts if start is not None), default=0)


def _zone_notes(name: str, events: Sequence[Any]) -> list[str]:
    """Say which zones are not known: their times are read as those of home."""
    said = [(event.get("DTSTART"), _moment_of(event.get("DTSTART"))) for event in events]
    unknown = {str(where.params["TZID"])[:40] for where, at in said if isinstance(at, datetime) and at.tzinfo is None
               and "TZID" in where.params}
    return [f"{name}: times of a zone that is not known are read on the clock of home: "
            f"{', '.join(sorted(unknown)[:MOST_NAMED])}"] if unknown else []


def _times(event: Any, moved: Sequence[date], last: int) -> Iterator[tuple[date, date | None]]:
    """Yield start and end of an event and of its repeats, without those that stand as events of their own."""
    if "DTSTART" not in event:
        return
    start = event.decoded("DTSTART")
    end = event.decoded("DTEND") if "DTEND" in event else None
    if end is None and "DURATION" in event:
        end = start + event.decoded("DURATION")
    without = [] if "RECURRENCE-ID" in event else moved
    for offset in _repeats(event, start, without, last):
        yield start + offset, None if end is None else end + offset


def _repeats(event: Any, start: date, moved: Sequence[date], last: int) -> list[timedelta]:
    rule = event.get("RRULE")
    zone = start.tzinfo if isinstance(start, datetime) else None
    first = _on_clock(start, zone)
    without = {_on_clock(day, zone) for day in [*moved, *_listed(event, "EXDATE")]}
    extra = [_on_clock(day, zone) for day in _listed(event, "RDATE")]
    if rule is None:
        moments: Iterable[datetime] = (first,)
    else:
        if min(rule.get("INTERVAL", [1])) < 1:
            raise ValueError("a step of none goes on without end")
        if rule.get("FREQ", [""])[0] in ("SECONDLY", "MINUTELY"):
            raise ValueError("nobody leaves every minute, and two years hold a million of them")
        moments = _moments(rule.to_ical().decode(), first, zone, last)
    kept = islice((moment for moment in moments if moment not in without), MOST_REPEATS)
    further = (moment for moment in extra[:MOST_REPEATS] if moment not in without)
    return [moment - first for moment in sorted({*kept, *further})]


def _listed(event: Any, key: str) -> list[date]:
    """Return the days or moments a calendar lists under a key; of a span its beginning."""
    said = event.get(key)
    groups = said if isinstance(said, list) else [said] if said else []
    return [e.dt[0] if isinstance(e.dt, tuple) else e.dt for group in groups for e in group.dts]


def _on_clock(moment: date, zone: tzinfo | None) -> datetime:
    """Return a day or moment as the clock of the event shows it."""
    if not isinstance(moment, datetime):
        return datetime.combine(moment, time(0))
    return (moment.astimezone(zone) if moment.tzinfo is not None and zone is not None else moment).replace(tzinfo=None)


MOST_YEARS_ON = 10
"""An event that repeats is followed so many years to those in which the rest of the calendar lies."""


def _moments(rule: str, first: datetime, zone: tzinfo | None, last: int) -> Iterator[datetime]:
    """Yield the moments of a rule in its first year and the next, or in the last two years of its calendar.

    A rule that falls on no day there is, such as 30 February, is followed to the end of the calendar, which takes
    seconds of thousands of years. So it is looked at in the last years that have the same weekdays and leap days.
    """
    from dateutil.rrule import rrulestr  # noqa: PLC0415
    parts = dict(part.split("=", 1) for part in rule.split(";"))
    until = _until(parts.pop("UNTIL", "9999"), zone)
    count = int(parts.pop("COUNT")) if "COUNT" in parts else None
    on = last - first.year if 1 < last - first.year <= MOST_YEARS_ON and parts.get("FREQ") in _BY_DAYS else 1
    later_years = range(MAXYEAR - on, 9900, -1)
    alike = next((year for year in later_years if _kind(year, on) == _kind(first.year, on)), first.year)
    later = datetime(alike, 1, 1) - datetime(first.year, 1, 1)
    text = ";".join(f"{key}={value}" for key, value in parts.items())
    for moment in islice(rrulestr(text, dtstart=first + later), count):
        if moment.year > alike + on or f"{moment - later:%Y%m%dT%H%M%S}" > until:
            return
        if moment.year >= alike + on - 1:
            yield moment - later


_BY_DAYS = ("DAILY", "WEEKLY", "MONTHLY", "YEARLY")


def _until(said: str, zone: tzinfo | None) -> str:
    """Return the last moment of a rule on the clock of its event; a day without a time is meant whole."""
    if len(said) < len("20250101T000000"):
        return f"{said[:8]}T235959"
    if said.endswith("Z") and zone is not None and not said.startswith("9999"):  # the end of the calendar has no clock
        moment = datetime.strptime(said[:15], "%Y%m%dT%H%M%S").replace(tzinfo=UTC)
        return f"{moment.astimezone(zone):%Y%m%dT%H%M%S}"
    return said[:15]


def _kind(year: int, on: int) -> tuple[int, ...]:
    """Return what the days of some years follow from: the weekday they begin with, leap years among them."""
    return (calendar.weekday(year, 1, 1), *(calendar.isleap(y) for y in range(year - 1, year + on + 1)))
