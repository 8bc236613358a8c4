"""Twelve months of trips as marks: where in the year, how far, and with whom."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from missionsim.page.trip_table import TripRow
from missionsim.report.wording import month_names
from missionsim.year.trips import Trip

WIDTH, HEIGHT, LEFT = 960.0, 130.0, 8.0
ALONE, COUPLE = 1, 2
LOWEST, STEP, LEVELS = 36.0, 24.0, 4
"""Where the lowest row of marks stands above the bottom, and how far apart rows are. [px]"""
SMALLEST, FOR_ONE_NM = 4.0, 75.0
"""Half the size of a mark that goes nowhere, and the distance that adds one to it. [px, nm]"""


@dataclass(frozen=True, slots=True)
class TripMark:
    """One trip on the strip: place, size by distance, kind of party, and what it is in words."""

    ident: str
    x: float
    y: float
    size: float
    party: str
    words: str


@dataclass(frozen=True, slots=True)
class YearStrip:
    """The months with their trips."""

    marks: tuple[TripMark, ...]
    months: tuple[tuple[float, str], ...]
    width: float = WIDTH
    height: float = HEIGHT


def year_strip(rows: Sequence[TripRow], far_nm: Callable[[Trip], float]) -> YearStrip:
    """Return the strip of the rows that can be read.

    Parameters
    ----------
    rows : sequence of TripRow
    far_nm : function            How far from home a trip goes. [nm]
    """
    step = (WIDTH - 2 * LEFT) / 366.0
    marks: list[TripMark] = []
    for row in rows:
        trip = row.trip
        if trip is None:
            continue
        day = trip.departs_local[0]
        x = LEFT + (day.timetuple().tm_yday - 0.5) * step
        size = SMALLEST + min(9.0, far_nm(trip) / FOR_ONE_NM)
        taken = {round((HEIGHT - LOWEST - m.y) / STEP) for m in marks if abs(m.x - x) < m.size + size + 1.0}
        level = next((k for k in range(LEVELS) if k not in taken), 0)
        party = "alone" if trip.people == ALONE else "children" if trip.children else \
            "couple" if trip.people == COUPLE else "group"
        words = f"{day:%b} {day.day}: {' '.join(trip.destinations)}, {trip.people} aboard" \
            + (f", {trip.purpose}" if trip.purpose else "")
        marks.append(TripMark(row.ident, round(x, 1), round(HEIGHT - LOWEST - STEP * level, 1), round(size, 1), party,
                              words))
    months = tuple((round(LEFT + (m * 30.5) * step, 1), name) for m, name in enumerate(month_names()))
    return YearStrip(tuple(marks), months)
