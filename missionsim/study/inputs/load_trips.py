"""The trips of a study: a list read from a file, or lines of demand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import is_there, neighbour
from missionsim.study.inputs.other_files import read_table_text
from missionsim.study.inputs.reading import StudyReading
from missionsim.study.inputs.schema import Destination, TripFile
from missionsim.study.inputs.trip_list import ListContext, ListFormat, read_trips
from missionsim.study.inputs.yaml_lines import KeyPath
from missionsim.year.demand import DemandLine, season_weights
from missionsim.year.trips import TripTable

WEEKDAYS = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")


@dataclass(frozen=True, slots=True)
class _Unplaced:
    """Stands for a home airport nobody knows, so that the rest of a trip list can be checked."""

    ident: str
    timezone: str = "UTC"


@dataclass(frozen=True, slots=True)
class TripListRead:
    """A trip list, its file as named and its hash."""

    table: TripTable
    file: str
    sha256: str


def load_trip_list(reading: StudyReading, form: TripFile, year: int | None, at: KeyPath = ("trips",),
                   ) -> TripListRead | None:
    """Return a trip list; None with the faults added.

    Parameters
    ----------
    reading : StudyReading
    form : TripFile             How the list is written.
    year : int or None
    at : key path               Where the study names the list.
    """
    where: KeyPath = (*at, "file") if isinstance(_written(reading.layers.data, at), dict) else at
    path, short = reading.layers.resolve(where, form.file)
    if not is_there(path):
        reading.fault(where, f"file {short!r} not found", "a path relative to the study file", neighbour(path))
        return None
    at_home = reading.home or _Unplaced(str(reading.layers.data.get("home")))

    def find(ident: str) -> Any:
        return at_home if ident == at_home.ident else reading.airports.find(ident)

    context = ListContext(at_home.ident, at_home.timezone, find, reading.assumptions, year,
                          reading.airports.in_town, reading.unflyable)
    written = ListFormat(form.columns.given(), form.rows, form.date_format, form.decimal_comma, form.delimiter)
    try:
        file = read_table_text(path, short)
        return TripListRead(read_trips(file, written, context), short, file.sha256)
    except InputError as error:
        reading.faults += error.faults
        return None


def demand_lines(reading: StudyReading, rows: Sequence[tuple[int, Destination]], at: KeyPath = ("demand",),
                 ) -> tuple[DemandLine, ...]:
    """Return the lines of demand of a study.

    Parameters
    ----------
    reading : StudyReading
    rows : sequence             Place in the study's list, and the line as validated.
    at : key path               Where the study lists them.
    """
    home = reading.home
    lines = []
    for i, row in rows:
        places = [reading.flyable((*at, i, "to"), ident) for ident in row.to]
        idents = tuple(place.ident for place in places if place is not None)
        chain = ("", *idents, "") if home is None else (home.ident, *idents, home.ident)
        if None not in places and any(a == b for a, b in pairwise(chain)):
            reading.fault((*at, i, "to"), "goes from a place to the same place", "another airport")
        lines.append(_line(row, idents, home is not None and home.latitude_deg < 0))
    return tuple(lines)


def _written(data: Any, at: KeyPath) -> Any:
    for part in at:
        data = data[part]
    return data


def _line(row: Destination, idents: tuple[str, ...], southern: bool) -> DemandLine:
    season = None if row.season is None else {str(name): weight for name, weight in row.season.items()}
    return DemandLine(
        places=idents, per_year=row.per_year, month_weight=season_weights(season, southern),
        weekdays=tuple(sorted({WEEKDAYS.index(day) for day in row.weekdays})), nights=row.nights, adults=row.adults,
        children=row.children, leave_local_h=row.leave_local_h, return_local_h=row.return_local_h,
        bags_lb=row.bags_lb, must_go_share=row.must_go_share, optional_value_usd=row.optional_value_usd,
        earlier_h=row.earlier_h, later_h=row.later_h, return_earlier_h=row.return_earlier_h,
        return_later_h=row.return_later_h, purpose=row.purpose, member=row.member)
