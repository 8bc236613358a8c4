"""Read the cells of a row and keep every fault with its line, so that all come out at once."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import time
from typing import Any, TypeVar

from missionsim.base.errors import MOST_TOLD, Fault
from missionsim.physics.units import LB_PER_KG
from missionsim.study.inputs.beyond_weather import STATION_FILE, Unflyable
from missionsim.study.inputs.csv_cells import (
    DateOrder,
    Moment,
    parse_clock,
    parse_duration,
    parse_moment,
    parse_number,
    parse_yes,
)
from missionsim.study.inputs.csv_text import CsvTable, Row
from missionsim.study.inputs.party import PartyRead, party_in
from missionsim.study.inputs.places import PlacesRead, Towns, looks_like_identifier, places_in
from missionsim.year.trips import SetAside

KILOGRAMS = re.compile(r"(?<![a-z])(?:kgs?|kilos?|kilograms?)\b\.?", re.IGNORECASE)
MOST_ABOARD = 20
T = TypeVar("T")
Find = Callable[[str], Any]
"""Returns an airport with `ident` and `timezone`; raises an error of the program, with `near`, for unknown ones."""


@dataclass
class RowReader:
    """Parses cells; a cell that cannot be read leaves a fault and None."""

    table: CsvTable
    order: DateOrder
    decimal_comma: bool | None
    find: Find
    towns: Towns | None = None
    lenient: bool = False
    """A calendar, a spreadsheet or a logbook: rows that are no flight are set aside; in a list typed for us, faults."""
    free_text: bool = False
    """A calendar's own words: three small letters are no identifier."""
    faults: list[Fault] = field(default_factory=list)
    _failed: set[tuple[int, str]] = field(default_factory=set)
    _airports: dict[str, Any] = field(default_factory=dict)
    _places: dict[str, PlacesRead] = field(default_factory=dict)
    set_aside: dict[int, SetAside] = field(default_factory=dict)
    local_flights: int = 0
    local_h: float = 0.0
    unflyable: Unflyable | None = None
    parties: dict[str, PartyRead] = field(default_factory=dict)
    """Cells from whose words people were counted, and what they were taken for."""
    kilograms: int = 0
    """Cells read in kilograms."""

    def fault(self, row: Row, column: str, what: str, accepted: str = "", near: str = "") -> None:
        """Keep a fault; a cell has at most one.

        Parameters
        ----------
        row : Row
        column : str     Heading of the column, in our words.
        what : str       What is wrong, in words.
        accepted : str   What is accepted instead, in words.
        near : str       Nearest word that is accepted.
        """
        if (row.line, column) not in self._failed:
            self._failed.add((row.line, column))
            self.faults.append(self.table.fault(row, column, what, accepted, near))

    def failed(self, row: Row, column: str) -> bool:
        """Return whether a cell has a fault already."""
        return (row.line, column) in self._failed

    def parsed(self, row: Row, column: str, text: str, parse: Callable[[str], T]) -> T | None:
        """Return what a parser makes of a text of this cell, None with a fault where it refuses.

        Parameters
        ----------
        row : Row
        column : str       Heading of the column, in our words.
        text : str         As typed.
        parse : callable   Raises ValueError with what is accepted.
        """
        try:
            return parse(text)
        except ValueError as error:
            self.fault(row, column, f"is {text[:60]!r}", str(error))
            return None

    def number(self, row: Row, column: str, low: float, high: float, whole: bool = False) -> float | None:
        """Return the number of a cell, None where it is empty or refused.

        Parameters
        ----------
        row : Row
        column : str   Heading of the column, in our words.
        low : float    Least that is accepted.
        high : float   Most that is accepted.
        whole : bool   No fractions.
        """
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

    def party(self, row: Row, column: str, pilots: int) -> PartyRead | None:
        """Return who is on board by a cell: a number, or who they are in words; None where it is empty or refused.

        Parameters
        ----------
        row : Row
        column : str   Heading of the column, in our words.
        pilots : int   People that a bare number leaves out: 1 where the pilot is no passenger.
        """
        text = row.get(column)
        if not any(c.isalpha() or c in "?+&" for c in text):
            people = self.number(row, column, 1 - pilots, 20 - pilots, whole=True)
            return None if people is None else PartyRead(int(people) + pilots, 0)
        found = self.parsed(row, column, text, party_in)
        if found is not None and not found.adults + found.children <= MOST_ABOARD:
            self.fault(row, column, f"is {text[:60]!r}, {found.words}", f"at most {MOST_ABOARD} people")
            return None
        if found is not None and found.guessed:
            self.parties[text] = found
        return found

    def weight_lb(self, row: Row, column: str, most_lb: float) -> float | None:
        """Return a weight in pounds; in kilograms where cell or heading says so. None where it is empty or refused."""
        text = row.get(column)
        in_kg = bool(KILOGRAMS.search(text) or KILOGRAMS.search(self.table.headings.get(column, "")))
        plain = KILOGRAMS.sub("", text).strip()
        if not plain:
            return None
        comma, semicolons = self.decimal_comma, self.table.delimiter != ","
        value = self.parsed(row, column, plain, lambda t: parse_number(t, comma, semicolons))
        if value is None:
            return None
        pounds = value * (LB_PER_KG if in_kg else 1.0)
        if not 0.0 <= pounds <= most_lb:
            unit = "kg" if in_kg else "lb"
            most = most_lb / (LB_PER_KG if in_kg else 1.0)
            self.fault(row, column, f"is {text!r}", f"a number from 0 to {most:,.0f} {unit}")
            return None
        self.kilograms += in_kg
        return pounds

    def yes(self, row: Row, column: str) -> bool:
        """Return whether a cell says yes."""
        return bool(self.parsed(row, column, row.get(column), parse_yes))

    def clock(self, row: Row, column: str) -> time | None:
        """Return the time of a cell; empty and midnight, which calendars write for 'no time', are None."""
        text = row.get(column)
        at = self.parsed(row, column, text, parse_clock) if text else None
        return None if at == time(0) else at

    def moment(self, row: Row, date_column: str, time_column: str, zone: str) -> Moment | None:
        """Return date and time of two cells; the first may hold both. Times with an offset become local.

        Parameters
        ----------
        row : Row
        date_column : str   Heading of the date.
        time_column : str   Heading of the time.
        zone : str          Name of the time zone.
        """
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

    def put_aside(self, row: Row, what: str, why: str) -> None:
        """Keep a row that is no trip, with its reason; a row has one."""
        self.set_aside.setdefault(row.line, SetAside(row.line, " ".join(what.split())[:80], why))

    def places(self, row: Row, column: str) -> tuple[Any, ...] | None:
        """Return the airports a cell names; None where a part of it names none.

        A word that looks like an identifier and is none leaves a fault. Other words put the row aside where the list
        may hold more than flights, and are a fault where it may not.
        """
        text = row.get(column)
        if text not in self._places:
            offer = len(self.faults) + len(self.set_aside) < MOST_TOLD
            self._places[text] = places_in(text, self.find, self.towns, self.free_text, offer)
        found = self._places[text]
        if not found.unknown:
            self._airports.update({airport.ident: airport for airport in found.airports})
            for airport in found.airports:
                if self.unflyable is not None and (why := self.unflyable(airport)):
                    self.fault(row, column, f"{airport.ident}: {why}", STATION_FILE)
            return found.airports
        if self.lenient and (self.free_text or not looks_like_identifier(found.unknown)):
            near = f"; {found.near} has a name like it" if found.near else ""
            self.put_aside(row, text, f"names no airport or town that is known{near}")
            return None
        self.fault(row, column, f"no airport {found.unknown!r:.80} is known", "an ICAO, FAA or IATA identifier, a town "
                   "such as `Omaha, NE`, or one under `airports` in the study", found.near)
        return None

    @property
    def place_notes(self) -> list[str]:
        """Which airport of a town was taken, once a town."""
        notes = [note for places in self._places.values() for note in places.notes]
        return [f"{self.table.name}: {note}" for note in dict.fromkeys(notes)]

    def hours(self, row: Row, column: str) -> float:
        """Return hours of a cell, as 1.2, 1:12, 1+12, 1h12 or 72 min; 0 where it holds none."""
        text = row.get(column)
        spelled = parse_duration(text)
        if spelled is not None:
            return min(spelled, 24.0)
        try:
            hours = parse_number(text, self.decimal_comma, self.table.delimiter != ",") if text else 0.0
        except ValueError:
            return 0.0
        return min(max(hours, 0.0), 24.0)

    def zone_of(self, ident: str, otherwise: str) -> str:
        """Return the time zone of an airport met before, else another one."""
        airport = self._airports.get(ident)
        return otherwise if airport is None else str(airport.timezone)
