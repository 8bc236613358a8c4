"""What the cells of a table mean: dates, times, numbers, yes and no, as people and spreadsheets write them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Literal
from zoneinfo import ZoneInfo

DateOrder = Literal["year-month-day", "month/day/year", "day/month/year"]

_EPOCH_1900 = datetime(1899, 12, 30)
"""Day 0 of the serial day numbers that spreadsheets write; it allows for their day 60, 29 February 1900."""
SERIAL_DAYS = (20_000, 80_000)
"""Serial numbers taken as dates: 1954 to 2119."""

MOST_CHARACTERS = 100
"""No date and no number is longer; patterns would take minutes to say so of a long cell."""
_A_DATE = "a date such as 2025-03-04 or 3/4/2025"
_CLOCK = re.compile(r"(\d{1,2})(?::?(\d{2}))(?::(\d{2})(?:\.\d+)?)?\s*([ap])?\.?\s*(?:m\.?)?", re.IGNORECASE)
_HOUR = re.compile(r"(\d{1,2})\s*([ap])\.?\s*m\.?", re.IGNORECASE)
_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})")
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
_SLASHED = re.compile(r"(\d{1,2})([-/.])(\d{1,2})\2(\d{4}|\d{2})")
_MONTHS = {name: i + 1 for i, name in enumerate(
    ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"))}
_MONTH = r"(jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?"
_WEEKDAY = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*\.?,?\s+", re.IGNORECASE)
_DAY_FIRST = re.compile(rf"(\d{{1,2}})(?:st|nd|rd|th)?[\s-]*{_MONTH}[\s,-]*'?(\d{{4}}|\d{{2}})(?!\d|:)", re.IGNORECASE)
_MONTH_FIRST = re.compile(rf"{_MONTH}[\s-]*(\d{{1,2}})(?:st|nd|rd|th)?[\s,-]+'?(\d{{4}}|\d{{2}})(?!\d|:)",
                          re.IGNORECASE)
_YEAR_FIRST = re.compile(rf"(\d{{4}})[\s-]*{_MONTH}[\s-]*(\d{{1,2}})(?!\d|:)", re.IGNORECASE)
_ZONE = re.compile(r"\s*(Z|UTC|[+-]\d{2}:?\d{2})$", re.IGNORECASE)
_SERIAL = re.compile(r"\d{5}(?:[.,]\d+)?")
_FRACTION = re.compile(r"0?[.,]\d+")
YES = frozenset({"yes", "y", "true", "t", "x", "1", "must"})
NO = frozenset({"no", "n", "false", "f", "0", "-", ""})


@dataclass(frozen=True, slots=True)
class Moment:
    """A date with a time of day where one was given, and a zone where the text named one."""

    day: date
    at: time | None
    zone: tzinfo | None = None

    def on_clock_of(self, timezone_name: str) -> Moment:
        """Return the same moment on the local clock of a zone, if this one names an offset; else itself."""
        if self.zone is None or self.at is None:
            return self
        local = datetime.combine(self.day, self.at, self.zone).astimezone(ZoneInfo(timezone_name))
        return Moment(local.date(), local.time().replace(second=0, microsecond=0))


def slash_order(cells: Iterable[str]) -> tuple[DateOrder, bool]:
    """Return how a column of dates with slashes is ordered, and whether the cells decide it.

    Month first, unless some first number is above 12 and no second one is: then day first for the whole column.

    Parameters
    ----------
    cells : iterable of str     All cells of the date columns.

    Returns
    -------
    (str, bool)                 Order, and False when every date would do either way.
    """
    found = [m for m in (_SLASHED.match(cell.strip()) for cell in cells) if m and m[2] != "."]
    first = any(int(m[1]) > 12 for m in found)
    second = any(int(m[3]) > 12 for m in found)
    return ("day/month/year" if first and not second else "month/day/year"), not found or first or second


def parse_moment(text: str, order: DateOrder) -> Moment:
    """Return the date, and the time if there is one, of a cell.

    Parameters
    ----------
    text : str       ISO (2025-03-04, with time after a blank or T), with slashes (3/4/2025 in the given order),
                     with dots (4.3.2025, day first), with the month's name (6-May-25, May 6 2025), or a spreadsheet's
                     day number (45720.35).
    order : str      How dates with slashes are ordered. A named order other than year first applies to dots too
                     only where it is day first.

    Raises
    ------
    ValueError       In words for a person; a date that does not exist says so.
    """
    text = text.strip()
    if len(text) > MOST_CHARACTERS:
        raise ValueError(_A_DATE)
    zone, text = _cut_zone(text)
    if _SERIAL.fullmatch(text):
        return _from_serial(float(text.replace(",", ".")))
    text = text[_weekday_end(text):]
    for pattern in (_ISO, _COMPACT, _SLASHED, _DAY_FIRST, _MONTH_FIRST, _YEAR_FIRST):
        match = pattern.match(text)
        rest = re.sub(r"^(?:at\s+|[T ,])+", "", text[match.end():]) if match else ""
        if match and (not rest or not text[match.end()].isdigit()):
            day = _day_of(match, pattern, order)
            return Moment(day, parse_clock(rest) if rest else None, zone)
    raise ValueError(_A_DATE)


def _cut_zone(text: str) -> tuple[tzinfo | None, str]:
    match = _ZONE.search(text)
    if not match or ":" not in text[:match.start()]:
        return None, text
    word = match[1].upper()
    if word in ("Z", "UTC"):
        return UTC, text[:match.start()]
    sign = -1 if word[0] == "-" else 1
    digits = word[1:].replace(":", "")
    if int(digits[:2]) > 14 or int(digits[2:]) > 59:
        raise ValueError("an offset from UTC of at most 14 hours")
    return timezone(sign * timedelta(hours=int(digits[:2]), minutes=int(digits[2:]))), text[:match.start()]


def _from_serial(number: float) -> Moment:
    low, high = SERIAL_DAYS
    if not low <= number < high:
        raise ValueError(f"a date, or a spreadsheet's day number from {low:,} to {high:,}")
    minutes = round((number % 1) * 1440)
    moment = _EPOCH_1900 + timedelta(days=int(number), minutes=minutes)
    return Moment(moment.date(), moment.time() if minutes else None)


def _weekday_end(text: str) -> int:
    match = _WEEKDAY.match(text)
    return match.end() if match else 0


def _day_of(match: re.Match[str], pattern: re.Pattern[str], order: DateOrder) -> date:
    """Return the day of a match; two digits of a year are of this century."""
    if pattern is _SLASHED:
        return _slashed_day(match, order)
    if pattern in (_ISO, _COMPACT):
        return _iso_day(match)
    if pattern is _DAY_FIRST:
        day, month, year = match[1], match[2], match[3]
    elif pattern is _MONTH_FIRST:
        month, day, year = match[1], match[2], match[3]
    else:
        year, month, day = match[1], match[2], match[3]
    return _day(int(year) + (2000 if len(year) == 2 else 0), _MONTHS[month[:3].lower()], int(day))


def _iso_day(match: re.Match[str]) -> date:
    return _day(int(match[1]), int(match[2]), int(match[3]))


def _slashed_day(match: re.Match[str], order: DateOrder) -> date:
    first, second, year = int(match[1]), int(match[3]), int(match[4])
    day_first = order == "day/month/year" or match[2] == "."
    month, day = (second, first) if day_first else (first, second)
    if month > 12:
        other = "month" if day_first else "day"
        raise ValueError(f"a month from 1 to 12 (this file is read with the {'day' if day_first else 'month'} first; " \
                         f"set `date_format` if the {other} comes first)")
    return _day(year + 2000 if year < 100 else year, month, day)


def _day(year: int, month: int, day: int) -> date:
    if (month, day) == (2, 29) and 1 <= year <= 9999 and not _leap(year):
        raise ValueError(f"a day that exists; {year} has no 29 February")
    if not 1900 <= year <= 2100:
        raise ValueError("a year from 1900 to 2100")
    try:
        return date(year, month, day)
    except ValueError:
        raise ValueError("a day that exists in the calendar") from None


def _leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def parse_clock(text: str) -> time:
    """Return a time of day: 8:30, 08:30:00, 0830, 8:30 AM, 8 pm, or a spreadsheet's share of a day (0.354).

    Raises
    ------
    ValueError   In words for a person.
    """
    text = text.strip()
    if _FRACTION.fullmatch(text):
        minutes = round(float(text.replace(",", ".")) * 1440) % 1440
        return time(minutes // 60, minutes % 60)
    match = _CLOCK.fullmatch(text)
    short = None if match else _HOUR.fullmatch(text)
    if match:
        hour, minute, half = int(match[1]), int(match[2]), (match[4] or "").lower()
    elif short:
        hour, minute, half = int(short[1]), 0, short[2].lower()
    else:
        hour, minute, half = 99, 0, ""
    if half:
        hour = hour % 12 + (12 if half == "p" else 0) if 1 <= hour <= 12 else 99
    if hour == 24 and minute == 0:
        hour = 0
    if hour > 23 or minute > 59:
        raise ValueError("a time of day such as 8:30, 16:30 or 4:30 PM")
    return time(hour, minute)


_IN_HOURS = re.compile(r"(\d{1,3})\s*(?::|\+|h(?:rs?|ours?)?\.?\s*)\s*([0-5]?\d)(?::\d{2})?"
                       r"\s*(?:m|min|mins|minutes)?\.?", re.IGNORECASE)
_IN_MINUTES = re.compile(r"(\d{1,4})\s*(?:m|min|mins|minutes)\.?", re.IGNORECASE)


def parse_duration(text: str) -> float | None:
    """Return hours of 1:06, 1+06, 1h06, 1 h 6 min or 66 min; None for other texts, which may be a number of hours."""
    text = text.strip()
    both = _IN_HOURS.fullmatch(text) if len(text) <= MOST_CHARACTERS else None
    if both:
        return int(both[1]) + int(both[2]) / 60.0
    minutes = _IN_MINUTES.fullmatch(text) if len(text) <= MOST_CHARACTERS else None
    return int(minutes[1]) / 60.0 if minutes else None


def parse_number(text: str, decimal_comma: bool | None, semicolons: bool) -> float:
    """Return a number as a spreadsheet of this or the other side of the Atlantic writes it.

    Parameters
    ----------
    text : str
    decimal_comma : bool or None   None decides by the file: commas are decimal only where they do not part columns.
    semicolons : bool              The file's columns are not parted by commas.

    Raises
    ------
    ValueError                     In words for a person; also where `1,200` could be either.
    """
    if len(text) > MOST_CHARACTERS:
        raise ValueError("a number")
    plain = re.sub(r"\s*(lbs?|pounds?|h|hrs?|hours?|usd|\$)\.?$", "", text.strip().lstrip("$"), flags=re.IGNORECASE)
    plain = plain.strip().replace("\u00a0", "").replace("\u202f", "")
    unclear = decimal_comma is None and semicolons and re.fullmatch(r"-?\d{1,3}[.,]\d{3}", plain)
    if unclear:
        msg = "a number; say `decimal_comma: true` or `false` for this file, since this one can be read two ways"
        raise ValueError(msg)
    comma = semicolons if decimal_comma is None else decimal_comma
    if comma:
        grouped = re.fullmatch(r"-?\d{1,3}(\.\d{3})+(,\d+)?", plain)
        plain = plain.replace(".", "") if grouped else plain
        plain = plain.replace(",", ".") if plain.count(",") == 1 and "." not in plain else plain
    elif re.fullmatch(r"-?\d{1,3}(,\d{3})+(\.\d+)?", plain):
        plain = plain.replace(",", "")
    if not re.fullmatch(r"[-+]?(\d+(\.\d*)?|\.\d+)", plain) or len(plain) > 20:
        raise ValueError("a number")
    return float(plain)


def parse_yes(text: str) -> bool:
    """Return whether a cell says yes; empty is no.

    Raises
    ------
    ValueError   Neither yes nor no.
    """
    word = text.strip().casefold()
    if word in YES:
        return True
    if word in NO:
        return False
    raise ValueError("yes or no (or x, true, false, 1, 0, empty)")
