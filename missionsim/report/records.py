"""Kept records as tables for people and programs: identifiers and words, local time and UTC, never a row number."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterator, Mapping, Sequence
from math import isfinite
from typing import Any

import numpy as np
import pandas as pd

from missionsim.base.arrays import Array
from missionsim.base.cells import safe_cell
from missionsim.base.words import Adaptation, marks_of, reasons_of
from missionsim.money.categories import CATEGORIES
from missionsim.report.contract import MEASURES
from missionsim.statistics.intervals import measure
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.inputs.load_study import Study
from missionsim.study.replicate.tally import REASONS
from missionsim.year.trips import Trip

DECIMALS = {"_h": 3, "_hours": 3, "_nm": 1, "_kt": 1, "_ft": 0, "_gal": 2, "_lb": 1, "_usd": 2, "_share": 4}
"""Decimals by unit: finer than anything here is known."""


def summary_frame(comparison: Comparison) -> pd.DataFrame:
    """Return one row a candidate and measure with interval and spread; reasons and categories of cost besides."""
    rows = [{"candidate": result.name, "measure": name, **values}
            for result in comparison.results for name, values in _measures(result)]
    return pd.DataFrame(rows, columns=["candidate", "measure", "mean", "low", "high", "p10", "p50", "p90"])


def trips_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every trip of the kept replications, one row a candidate, replication and trip."""
    return _stacked([_trips(comparison, result) for result in comparison.results])


def flights_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every flight of the kept replications; `flight` counts within a candidate's replication."""
    return _stacked([_flights(comparison, result) for result in comparison.results])


def shop_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every shop visit of the kept replications."""
    return _stacked([_shop(comparison, result) for result in comparison.results])


def ledger_frame(comparison: Comparison) -> pd.DataFrame:
    """Return every dollar of the kept replications; the sum of a replication is its net cost."""
    return _stacked([_ledger(comparison, result) for result in comparison.results])


def trips_of(study: Study, replications: Sequence[int]) -> dict[int, tuple[Trip, ...]]:
    """Return the trips of each replication: the same list for all, or each year's own where demand is generated."""
    if study.listed is not None:
        return dict.fromkeys(replications, study.listed.trips)
    return {r: study.trips(r).trips for r in replications}


def kept_replications(result: Result) -> list[int]:
    """Return the replications whose records were kept."""
    return [] if result.tally.kept is None else np.unique(result.tally.kept.trips["replication"]).tolist()


def local_minutes(hours: Array, zones: Sequence[str], year: int) -> Array:
    """Return local time to the minute as text; empty where the time is NaN.

    Parameters
    ----------
    hours : (n,) array   UTC hours since the year began.
    zones : (n,) words   IANA time zone of each.
    """
    out = np.full(len(hours), "", dtype=object)
    known = np.isfinite(hours)
    of = np.asarray(zones, dtype=object)
    for zone in sorted(set(of[known].tolist())):
        chosen = known & (of == zone)
        out[chosen] = _text(_stamps(hours[chosen], year).tz_convert(zone).tz_localize(None))
    return out


def utc_minutes(hours: Array, year: int) -> Array:
    """Return UTC to the minute as text, closed by Z; empty where the time is NaN."""
    out = np.full(len(hours), "", dtype=object)
    known = np.isfinite(hours)
    out[known] = [t + "Z" for t in _text(_stamps(hours[known], year).tz_localize(None))]
    return out


def _stamps(hours: Array, year: int) -> pd.DatetimeIndex:
    minutes = np.rint(np.asarray(hours, dtype=float) * 60.0).astype("timedelta64[m]")
    return pd.DatetimeIndex(np.datetime64(f"{year}-01-01T00:00") + minutes).tz_localize("UTC")


def _text(stamps: pd.DatetimeIndex) -> list[str]:
    return [str(t) for t in stamps.to_numpy().astype("datetime64[m]").astype(str)]


def _measures(result: Result) -> Iterator[tuple[str, Mapping[str, float | None]]]:
    for name in MEASURES:
        yield name, result.measures[name]
    part = result.tally
    for title, counts in (("refused_structural", part.structural), ("refused_on_the_day", part.on_the_day),
                          ("delayed", part.delayed)):
        for i, reason in enumerate(REASONS):
            if counts[:, i].any():
                yield f"{title}_{reason}", measure(counts[:, i])
    for i, category in enumerate(CATEGORIES):
        if part.categories[:, i].any():
            yield f"spent_{category}_usd", measure(part.categories[:, i] / 100.0)


def _trips(comparison: Comparison, result: Result) -> pd.DataFrame:
    study = comparison.study
    assert result.tally.kept is not None
    columns, ledger = result.tally.kept.trips, pd.DataFrame(result.tally.kept.ledger)
    tables = trips_of(study, kept_replications(result))
    trips = [tables[int(r)][int(t)] for r, t in zip(columns["replication"], columns["trip"], strict=True)]
    zone = [study.home.timezone] * len(trips)
    spent = ledger[ledger["trip"] >= 0].groupby(["replication", "trip"])["amount_cents"].sum()
    keys = list(zip(columns["replication"].tolist(), columns["trip"].tolist(), strict=True))
    frame = {
        "candidate": [result.name] * len(trips), "replication": columns["replication"],
        "trip_id": [t.trip_id for t in trips], "purpose": [t.purpose for t in trips],
        "from": [t.stops[0] for t in trips], "to": [" > ".join(t.destinations) for t in trips],
        "people": columns["people"], "bags_lb": [t.bags_lb for t in trips], "must_go": [t.must_go for t in trips],
        "outcome": columns["outcome"], "marks": [" ".join(marks_of(int(m))) for m in columns["marks"]],
        "given_up_for_load": [Adaptation(int(h)).name.lower() if h else "" for h in columns["how"]],
        "by_car": columns["apart"],
        "reason": columns["reason"],
        "all_reasons": [" ".join(reasons_of(int(m))) for m in columns["reasons"]],
        "structural": columns["structural"],
    }
    for name in ("planned", "departed", "home"):
        frame[f"{name}_local"] = local_minutes(columns[f"{name}_h"], zone, study.year)
        frame[f"{name}_utc"] = utc_minutes(columns[f"{name}_h"], study.year)
    for name in ("door_to_door_h", "block_h", "flight_h", "nights_forced", "flights", "fuel_stops", "diversions",
                 "looks", "fuel_gal", "places_reached", "came_home_otherwise"):
        frame[name] = columns[name]
    frame["booked_on_trip_usd"] = np.array([spent.get(key, 0) for key in keys]) / 100.0
    return pd.DataFrame(frame)


def _flights(comparison: Comparison, result: Result) -> pd.DataFrame:
    study = comparison.study
    assert result.tally.kept is not None
    columns = result.tally.kept.flights
    tables = trips_of(study, kept_replications(result))
    from_ident, to_ident = columns["from_ident"], columns["to_ident"]
    zones = {ident: study.airports.find(ident).timezone for ident in sorted({*from_ident, *to_ident})}
    arrive_h = columns["depart_h"] + columns["block_h"]
    trip_id = [tables[int(r)][int(t)].trip_id if t >= 0 else ""
               for r, t in zip(columns["replication"], columns["trip"], strict=True)]
    planned = columns["level_ft"] > 0  # flights that no leg planned have no level of their own
    frame = {
        "candidate": [result.name] * len(trip_id), "replication": columns["replication"],
        "flight": flight_numbers(columns["replication"]), "trip_id": trip_id, "purpose": columns["purpose"],
        "from": from_ident, "to": to_ident,
        "depart_local": local_minutes(columns["depart_h"], [zones[i] for i in from_ident], study.year),
        "depart_utc": utc_minutes(columns["depart_h"], study.year),
        "arrive_local": local_minutes(arrive_h, [zones[i] for i in to_ident], study.year),
        "arrive_utc": utc_minutes(arrive_h, study.year), "fuel_stop": columns["is_stop"],
        "level_ft": np.where(planned, columns["level_ft"], np.nan),
        "headwind_kt": np.where(planned, columns["headwind_kt"], np.nan),
    }
    for name in ("block_h", "flight_h", "tas_kt", "groundspeed_kt", "distance_nm", "fuel_burn_gal", "fuel_uplift_gal",
                 "takeoff_weight_lb", "people"):
        frame[name] = columns[name]
    return pd.DataFrame(frame)


def _shop(comparison: Comparison, result: Result) -> pd.DataFrame:
    study = comparison.study
    assert result.tally.kept is not None
    columns = result.tally.kept.shop
    tables = trips_of(study, kept_replications(result))
    zones = {ident: study.airports.find(ident).timezone for ident in sorted({*columns["ident"]})}
    trip_id = [tables[int(r)][int(t)].trip_id if t >= 0 else ""
               for r, t in zip(columns["replication"], columns["trip"], strict=True)]
    frame = {"candidate": [result.name] * len(trip_id), "replication": columns["replication"],
             "kind": columns["kind"], "place": columns["ident"], "trip_id": trip_id, "deferred": columns["deferred"]}
    for name in ("start", "end"):
        hours = columns[f"{name}_h"]
        frame[f"{name}_local"] = local_minutes(hours, [zones[i] for i in columns["ident"]], study.year)
        frame[f"{name}_utc"] = utc_minutes(hours, study.year)
    frame["shop_h"] = columns["end_h"] - columns["start_h"]
    return pd.DataFrame(frame | {"flown_this_year_h": columns["flight_hours"]})


def flight_numbers(replication: Array) -> Array:
    """Return the number of each flight within its replication, from 1."""
    first = np.searchsorted(replication, replication, side="left")
    return np.arange(len(replication)) - first + 1


def _ledger(comparison: Comparison, result: Result) -> pd.DataFrame:
    assert result.tally.kept is not None
    flights, entries = result.tally.kept.flights, result.tally.kept.ledger
    tables = trips_of(comparison.study, kept_replications(result))
    number = np.append(flight_numbers(flights["replication"]), 0)
    flight, trip, replication = entries["flight"], entries["trip"], entries["replication"]
    return pd.DataFrame({
        "candidate": [result.name] * len(trip), "replication": replication, "date": entries["date"],
        "category": [str(c) for c in entries["category"]], "cause": [str(c) for c in entries["cause"]],
        "trip_id": [tables[int(r)][int(t)].trip_id if t >= 0 else "" for r, t in zip(replication, trip, strict=True)],
        "flight": [str(number[f]) if f >= 0 else "" for f in flight],
        "amount_usd": [exact_usd(int(c)) for c in entries["amount_cents"]],
    })


def exact_usd(cents: int) -> str:
    """Return cents as dollars in text, exactly."""
    return f"{'-' if cents < 0 else ''}{abs(cents) // 100}.{abs(cents) % 100:02d}"


def _stacked(frames: Sequence[pd.DataFrame]) -> pd.DataFrame:
    return pd.concat(frames, ignore_index=True)


def csv_text(frame: pd.DataFrame) -> str:
    """Return a table as CSV text: numbers as fine as their unit deserves, unknown as empty, yes and no for bools."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(frame.columns)
    writer.writerows(zip(*(_cells(str(name), frame[name]) for name in frame.columns), strict=True))
    return out.getvalue()


def _cells(name: str, column: pd.Series) -> list[Any]:
    """Return a column as it is written."""
    if column.dtype == bool:
        return ["yes" if v else "no" for v in column.tolist()]
    if column.dtype.kind == "f":
        return _numbers(column.tolist(), next((d for unit, d in DECIMALS.items() if name.endswith(unit)), 4))
    if column.dtype.kind in "iu":
        return column.tolist()
    values = ["; ".join(map(str, v)) if isinstance(v, (list, tuple)) else v for v in column.tolist()]
    cells = {v: safe_cell(v) for v in set(values) if isinstance(v, str)}
    return [cells[v] if isinstance(v, str) else "" if pd.isna(v) else v for v in values]


def _numbers(values: Sequence[float], digits: int) -> list[str]:
    """Return numbers rounded, without zeros at their end; unknown as empty."""
    form = f"%.{digits}f"
    texts = [form % v if isfinite(v) else "" for v in values]
    if digits:
        texts = [text.rstrip("0").rstrip(".") for text in texts]
    return ["0" if text == "-0" else text for text in texts]
