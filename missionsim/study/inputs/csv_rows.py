"""Read the cells of a row and keep every fault with its line, so that all come out at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import time
from typing import Any, TypeVar

from missionsim.base.errors import Fault, MissionsimError
from missionsim.study.inputs.csv_cells import DateOrder, Moment, parse_clock, parse_moment, parse_number, parse_yes
from missionsim.study.inputs.csv_text import Row, Table

T = TypeVar("T")
Find = Callable[[str], Any]
"""Returns an airport with `ident` and `timezone`; raises an error of the program, with `near`, for unknown ones."""


@dataclass
class RowReader:
    """Parses cells; a cell that cannot be read leaves a fault and None."""

    table: Table
    order: DateOrder
    decimal_comma: bool | None
    find: Find
    faults: list[Fault] = field(default_factory=list)
    _failed: set[tuple[int, str]] = field(default_factory=set)
    _airports: dict[str, Any] = field(default_factory=dict)

    def fault(self, row: Row, column: str, what: str, accepted: str = "", near: str = "") -> None:
        """Keep a fault; a cell has at most one."""
        if (row.line, column) not in self._failed:
            self._failed.add((row.line, column))
            self.faults.append(self.table.fault(row, column, what, accepted, near))

    def failed(self, row: Row, column: str) -> bool:
        """Return whether a cell has a fault already."""
        return (row.line, column) in self._failed

    def parsed(self, row: Row, column: str, text: str, parse: Callable[[str], T]) -> T | None:
        """Return what a parser makes of a text of this cell, None with a fault where it refuses."""
        try:
            return parse(text)
        except ValueError as error:
            self.fault(row, column, f"is {text[:60]!r}", str(error))
            return None

    def number(self, row: Row, column: str, low: float, high: float, whole: bool = False) -> float | None:
        """Return the number of a cell, None where it is empty or refused."""
        text = row.get(column)
        if not text:
            return None
        comma, semicolons = self.decimal_comma, self.table.delimiter != ","
        value = self.parsed(row, column, text, lambda t: parse_number(t, comma, semicolons))
        if value is None:
            return None
        if not low <= value <= high or (whole and value != int(value)):
            kind = "a whole number" if whole else "a number"
            self.fault(row, column, f"is {text!r}", f"{kind} from {low:,} to {high:,}")
            return None
        return value

    def yes(self, row: Row, column: str) -> bool:
        """Return whether a cell says yes."""
        return bool(self.parsed(row, column, row.get(column), parse_yes))

    def clock(self, row: Row, column: str) -> time | None:
        """Return the time of a cell; empty and midnight, which calendars write for 'no time', are None."""
        text = row.get(column)
        at = self.parsed(row, column, text, parse_clock) if text else None
        return None if at == time(0) else at

    def moment(self, row: Row, date_column: str, time_column: str, zone: str) -> Moment | None:
        """Return date and time of two cells; the first may hold both. Times with an offset become local."""
        text = row.get(date_column)
        if not text:
            self.fault(row, date_column, "is empty", "a date such as 2025-03-04")
            return None
        found = self.parsed(row, date_column, text, lambda t: parse_moment(t, self.order))
        at = self.clock(row, time_column)
        if found is None:
            return None
        inside = None if found.at == time(0) and found.zone is None else found.at
        if inside and at and inside != at:
            self.fault(row, time_column, f"is {row.get(time_column)!r}, but {date_column} says {inside:%H:%M}",
                       "one of the two")
        return Moment(found.day, inside or at, found.zone).on_clock_of(zone)

    def airport(self, row: Row, column: str, word: str | None = None) -> Any:
        """Return the airport a cell (or one word of it) names, None with a fault where there is none."""
        text = row.get(column) if word is None else word
        if text not in self._airports:
            try:
                self._airports[text] = self.find(text)
            except MissionsimError as error:
                self._airports[text] = str(getattr(error, "near", ""))
        found = self._airports[text]
        if isinstance(found, str):
            self.fault(row, column, f"no airport {text!r} is known", "an ICAO, FAA or IATA identifier, or one under "
                       "`airports` in the study", found)
            return None
        return found

    def airports(self, row: Row, column: str, words: Sequence[str]) -> list[str]:
        """Return the identifiers of the airports that words of a cell name; unknown ones leave a fault."""
        found = [self.airport(row, column, word) for word in words]
        return [airport.ident for airport in found if airport is not None]

    def zone_of(self, ident: str, otherwise: str) -> str:
        """Return the time zone of an airport met before, else another one."""
        for airport in self._airports.values():
            if not isinstance(airport, str) and airport.ident == ident:
                return str(airport.timezone)
        return otherwise
