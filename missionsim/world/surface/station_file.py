"""A user's own weather station: typical-year files in EPW or TMY3 form, from open file objects."""

from __future__ import annotations

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TextIO

import numpy as np

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.base.errors import Fault
from missionsim.world.surface.place_climate import OwnStation
from missionsim.world.surface.station_climate import MONTH_DAYS, HourlyReports, station_climate

KNOTS_PER_MS = 3600.0 / 1852.0
FEET_PER_METRE = 1.0 / 0.3048
MILES_PER_KM = 1.0 / 1.609344

_HOURS = 8760
_MOST_MISSING = 0.05
_SHOWN = 5
_NO_CEILING_M = 77_000.0    # both forms write 77777 for unlimited and 88888 for high thin cloud
_DAY_BEFORE_MONTH = np.concatenate([[0], np.cumsum(MONTH_DAYS)[:-1]])
# Present weather as two digits, WMO code table 4677: thunderstorms; freezing drizzle and rain.
_THUNDER_CODES = (17, *range(91, 100))
_FREEZING_CODES = (56, 57, 66, 67)


@dataclass(frozen=True, slots=True)
class _Column:
    """A column with its place or title, its accepted range and how it writes 'missing'."""

    key: str
    at: int | str
    unit: str
    low: float
    high: float
    missing: tuple[float, ...]
    factor: float = 1.0


# Order of the fields in an EPW data row: EnergyPlus Auxiliary Programs, weather data format, numbered from 0.
_EPW_COLUMNS = (
    _Column("dry bulb", 6, "C", -80, 65, (99.9,)),
    _Column("pressure", 9, "Pa", 45_000, 111_000, (999_999.0,), 0.01),
    _Column("wind direction", 20, "degrees", 0, 360, (999.0,)), _Column("wind speed", 21, "m/s", 0, 90, (999.0,)),
    _Column("visibility", 24, "km", 0, 9000, (9999.0,)),
    _Column("ceiling", 25, "m", 0, 90_000, (99_999.0,)))
# Column titles of TMY3: Wilcox and Marion, Users Manual for TMY3 Data Sets, NREL/TP-581-43156, table 1-2.
_TMY3_COLUMNS = (
    _Column("dry bulb", "Dry-bulb (C)", "C", -80, 65, (-9900.0,)),
    _Column("pressure", "Pressure (mbar)", "mbar", 450, 1110, (-9900.0,)),
    _Column("wind direction", "Wdir (degrees)", "degrees", 0, 360, (-9900.0,)),
    _Column("wind speed", "Wspd (m/s)", "m/s", 0, 90, (-9900.0,)),
    _Column("visibility", "Hvis (m)", "m", 0, 200_000, (-9900.0,), 0.001),
    _Column("ceiling", "CeilHgt (m)", "m", 0, 90_000, (-9900.0,)))
_TMY3_WEATHER = "PresWth (METAR code)"

StationRead = tuple[OwnStation | None, list[Fault]]


def read_station(file: TextIO, name: str) -> StationRead:
    """Return the station of a typical-year file, EPW or TMY3 by its first line.

    Parameters
    ----------
    file : text file object
    name : str     Of the file, for faults.

    Returns
    -------
    OwnStation or None, list of Fault     The station is None when there are faults.
    """
    rows = list(csv.reader(file))
    if not rows or not any(rows[0]):
        return None, [Fault(name, "", "is empty", "a TMY3 or EPW file")]
    if rows[0][0].strip().upper() == "LOCATION":
        return _read_epw(rows, name)
    if len(rows) > 1 and rows[1] and rows[1][0].strip().startswith("Date"):
        return _read_tmy3(rows, name)
    return None, [Fault(name, "", f"starts with {rows[0][0][:40]!r}",
                        "an EPW file (first line LOCATION,...) or a TMY3 file (second line Date (MM/DD/YYYY),...)",
                        "", 1)]


def _read_epw(rows: list[list[str]], name: str) -> StationRead:
    place, faults = _location(rows[0], (1, 6, 7, 8, 9), name)
    start = next((k + 1 for k, row in enumerate(rows) if row and row[0].strip().upper() == "DATA PERIODS"), None)
    if start is None:
        return None, [*faults, Fault(name, "", "has no DATA PERIODS line", "an EPW file with its eight header lines")]
    data = [(k + 1, row) for k, row in enumerate(rows[start:], start) if row]
    slot, more = _slots(data, lambda row: (int(row[1]), int(row[2]), int(row[3])), name)
    values, found = _columns(data, slot, _EPW_COLUMNS, name) if not more else ({}, [])
    faults += more + found
    if faults:
        return None, faults
    code = [row[27].strip().strip("'").zfill(9) if len(row) > 27 and row[26].strip() == "0" else "999999999"
            for _, row in data]
    thunder = _placed(slot, [c[0] in "012" for c in code])
    freezing = _placed(slot, [c[1] in "678" or c[2] in "678" for c in code])
    return _station(place, values, thunder, freezing), []


def _read_tmy3(rows: list[list[str]], name: str) -> StationRead:
    place, faults = _location(rows[0], (1, 4, 5, 3, 6), name)
    titles = [title.strip() for title in rows[1]]
    absent = [c.at for c in _TMY3_COLUMNS if c.at not in titles]
    if absent:
        return None, [*faults, Fault(name, str(absent[0]), "column is missing", "the columns of the TMY3 form", "", 2)]
    columns = [_Column(c.key, titles.index(str(c.at)), c.unit, c.low, c.high, c.missing, c.factor)
               for c in _TMY3_COLUMNS]
    data = [(k + 1, row) for k, row in enumerate(rows[2:], 2) if row]
    slot, more = _slots(data, _tmy3_stamp, name)
    values, found = _columns(data, slot, columns, name) if not more else ({}, [])
    faults += more + found
    if faults:
        return None, faults
    at = titles.index(_TMY3_WEATHER) if _TMY3_WEATHER in titles else None
    code = [_whole(row[at]) if at is not None and at < len(row) else -1 for _, row in data]
    return _station(place, values, _placed(slot, [c in _THUNDER_CODES for c in code]),
                    _placed(slot, [c in _FREEZING_CODES for c in code])), []


def _tmy3_stamp(row: list[str]) -> tuple[int, int, int]:
    month, day, _ = row[0].split("/")
    return int(month), int(day), int(row[1].split(":")[0])


def _location(row: list[str], at: Sequence[int], name: str) -> tuple[tuple[str, list[float]], list[Fault]]:
    """Return name and (latitude, longitude, offset, elevation in metres) of a header line."""
    limits = (("latitude", -90, 90), ("longitude", -180, 180), ("time zone", -12, 14), ("elevation", -500, 5000))
    values, faults = [], []
    for (key, low, high), column in zip(limits, at[1:], strict=True):
        value = _number(row[column]) if column < len(row) else None
        if value is None or not low <= value <= high:
            shown = row[column].strip() if column < len(row) else ""
            faults.append(Fault(name, key, f"is {shown!r}", f"{low:,} to {high:,}", "", 1))
        values.append(value or 0.0)
    return (row[at[0]].strip() if len(row) > at[0] else name, values), faults


def _slots(data: list[tuple[int, list[str]]], stamp: object, name: str) -> tuple[Ints, list[Fault]]:
    """Return the hour of the year of each row; 29 February counts as none (-1)."""
    slot, faults = np.full(len(data), -1, dtype=np.int64), []
    for k, (line, row) in enumerate(data):
        try:
            month, day, hour = stamp(row)  # type: ignore[operator]
        except (ValueError, IndexError):
            faults.append(Fault(name, "date and time", f"cannot be read in {','.join(row[:4])[:40]!r}",
                                "month, day and hour 1 to 24", "", line))
            continue
        if (month, day) == (2, 29):
            continue
        if not (1 <= month <= 12 and 1 <= day <= MONTH_DAYS[month - 1] and 1 <= hour <= 24):
            faults.append(Fault(name, "date and time", f"is month {month}, day {day}, hour {hour}",
                                "hours 1 to 24 of a common year", "", line))
            continue
        slot[k] = (_DAY_BEFORE_MONTH[month - 1] + day - 1) * 24 + hour - 1
    faults = _first(faults, name)
    distinct = np.unique(slot[slot >= 0]).size
    if not faults and (distinct != _HOURS or (slot >= 0).sum() != _HOURS):
        faults.append(Fault(name, "", f"has {(slot >= 0).sum():,} hourly rows for {distinct:,} hours",
                            "one row for each of the 8,760 hours of a year"))
    return slot, faults


def _columns(data: list[tuple[int, list[str]]], slot: Ints, columns: Sequence[_Column], name: str,
             ) -> tuple[dict[str, Floats], list[Fault]]:
    values, faults = {}, []
    for column in columns:
        series, found = _series(data, slot, column, name)
        values[column.key] = series * column.factor
        faults += _first(found, name)
    return values, faults


def _series(data: list[tuple[int, list[str]]], slot: Ints, column: _Column, name: str,
            ) -> tuple[Floats, list[Fault]]:
    series, faults = np.full(_HOURS, np.nan), []
    at = int(column.at)
    for (line, row), hour in zip(data, slot.tolist(), strict=True):
        value = _number(row[at]) if at < len(row) else None
        if hour < 0 or (value is not None and value in column.missing):
            continue
        if value is None or not column.low <= value <= column.high:
            shown = row[at].strip()[:20] if at < len(row) else ""
            faults.append(Fault(name, column.key, f"is {shown!r}",
                                f"{column.low:,g} to {column.high:,g} {column.unit}", "", line))
            continue
        series[hour] = value
    gaps = np.isnan(series)
    if not faults and gaps.mean() > _MOST_MISSING:
        faults.append(Fault(name, column.key, f"is missing in {gaps.sum():,} of 8,760 hours",
                            f"at most {_MOST_MISSING:.0%} missing (filled with the hour before)"))
    last = np.maximum.accumulate(np.where(gaps, -1, np.arange(_HOURS)))
    first = int(np.argmax(~gaps))
    return series[np.where(last < 0, first, last)], faults


def _station(place: tuple[str, list[float]], values: dict[str, Floats], thunder: Bools,
             freezing: Bools) -> OwnStation:
    ceiling_ft = values["ceiling"] * FEET_PER_METRE
    code = np.where(values["ceiling"] >= _NO_CEILING_M, 255, np.minimum(np.rint(ceiling_ft / 100.0), 254))
    visibility = np.minimum(np.rint(values["visibility"] * MILES_PER_KM * 10.0), 100)
    reports = HourlyReports(
        code.astype(np.uint8), visibility.astype(np.uint8), values["dry bulb"],
        values["wind direction"], values["wind speed"] * KNOTS_PER_MS, values["pressure"], thunder, freezing)
    label, (lat, lon, offset, metres) = place
    return OwnStation(label, lat, lon, metres * FEET_PER_METRE, offset, station_climate(reports))


def _placed(slot: Ints, flags: list[bool]) -> Bools:
    out = np.zeros(_HOURS, dtype=bool)
    used = slot >= 0
    out[slot[used]] = np.array(flags)[used]
    return out


def _first(faults: list[Fault], name: str) -> list[Fault]:
    if len(faults) <= _SHOWN:
        return faults
    more = Fault(name, faults[0].key, f"has {len(faults) - _SHOWN:,} more rows with such faults", faults[0].accepted)
    return [*faults[:_SHOWN], more]


def _number(text: str) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if np.isfinite(value) else None


def _whole(text: str) -> int:
    value = _number(text)
    return -1 if value is None else int(value)
