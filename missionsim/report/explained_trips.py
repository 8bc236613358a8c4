"""One trip at a time: every flight of the first simulated year, and why a trip was refused, cut short or late."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.words import Purpose
from missionsim.report.answer import cheapest_first
from missionsim.report.records import local_minutes
from missionsim.report.wording import OUTCOME, month_names, number, plain
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.explain.replication import ExplainedYear, FlightFacts, explain
from missionsim.study.replicate.shop_sums import MADE

MOST_CANDIDATES = 8
"""Stories are told of so many candidates, the cheapest first; the tables hold all."""


@dataclass(frozen=True, slots=True)
class FlightLine:
    """One flight in words: what, when, how high, which wind, fuel, weights, runways."""

    way: str
    when: str
    flown: str
    fuel: str
    weights: str
    runways: str


@dataclass(frozen=True, slots=True)
class ExplainedTrip:
    """What became of one trip with one candidate."""

    name: str
    outcome: str
    why: str
    flights: tuple[FlightLine, ...]


def explained_trips(comparison: Comparison) -> dict[int, list[ExplainedTrip]]:
    """Return the first simulated year by trip; empty where no records were kept."""
    if any(r.tally.kept is None for r in comparison.results):
        return {}
    explained = explain(comparison.prepared, 0)
    out: dict[int, list[ExplainedTrip]] = {k: [] for k in range(len(comparison.prepared.table))}
    for i in cheapest_first(comparison)[:MOST_CANDIDATES]:
        for k, told in _of(comparison, comparison.results[i], explained[i]).items():
            out[k].append(told)
    return out


def _of(comparison: Comparison, result: Result, explained: ExplainedYear) -> dict[int, ExplainedTrip]:
    assert result.tally.kept is not None
    kept = result.tally.kept
    flights, trips = ({n: v[part["replication"] == 0] for n, v in part.items()} for part in (kept.flights, kept.trips))
    lines: dict[int, list[FlightLine]] = {}
    limit_lb = comparison.prepared.flyers[comparison.names.index(result.name)].candidate.profile.max_takeoff_lb
    for k, line in _flight_lines(comparison, flights, explained, limit_lb):
        lines.setdefault(k, []).append(line)
    out = {k: ExplainedTrip(result.name, "not wanted", "Nobody wanted it in this year.", ())
           for k in range(len(comparison.prepared.table))}
    for k, outcome, reason in zip(trips["trip"].tolist(), trips["outcome"], trips["reason"], strict=True):
        sentence = explained.why.get(k, "")
        why = f"{plain(reason)}: {sentence}." if reason and sentence else plain(reason)
        how = explained.how.get(k, "") if outcome in MADE else ""
        why = " ".join(part for part in (why[:1].upper() + why[1:], how and f"{how[:1].upper()}{how[1:]}.") if part)
        out[k] = ExplainedTrip(result.name, OUTCOME[outcome], why, tuple(lines.get(k, ())))
    return out


def _flight_lines(comparison: Comparison, flights: dict[str, Any], explained: ExplainedYear,
                  limit_lb: float) -> list[tuple[int, FlightLine]]:
    study = comparison.study
    home = flights["from_ident"].tolist(), flights["to_ident"].tolist()
    zones = {i: study.airports.find(i).timezone for i in sorted({*home[0], *home[1]})}
    off = local_minutes(flights["depart_h"], [zones[i] for i in home[0]], study.year)
    on = local_minutes(flights["depart_h"] + flights["block_h"], [zones[i] for i in home[1]], study.year)
    out = []
    for n in range(len(off)):
        trip = int(flights["trip"][n])
        if trip < 0:
            continue
        facts = explained.flights.get((trip, int(flights["leg"][n]), home[0][n], home[1][n]))
        out.append((trip, _line({name: values[n] for name, values in flights.items()}, off[n], on[n], facts,
                                limit_lb)))
    return out


def _line(f: dict[str, Any], off: str, on: str, facts: FlightFacts | None, limit_lb: float) -> FlightLine:
    stop = " (fuel stop)" if f["is_stop"] else ""
    what = "" if f["purpose"] == str(Purpose.TRIP) else f", {plain(f['purpose'])}"
    wind = float(f["headwind_kt"])
    flown = f"{number(float(f['flight_h']), 2)} h, {number(float(f['distance_nm']), 0)} nm"
    if float(f["level_ft"]) > 0:
        side = "head" if wind >= 0 else "tail"
        flown += (f" at {number(float(f['level_ft']), 0)} ft, {abs(wind):.0f} kt {side} wind, "
                  f"{float(f['groundspeed_kt']):.0f} kt over ground")
    if facts is None:
        fuel = f"{number(float(f['fuel_burn_gal']))} gal burned"
        return FlightLine(f"{f['from_ident']} to {f['to_ident']}{stop}{what}", _when(off, on), flown, fuel, "–", "–")
    fuel = f"{number(float(f['fuel_burn_gal']))} gal burned, {number(facts.fuel_required_gal)} wanted at start"
    weights = (f"{number(facts.takeoff_weight_lb, 0)} of {number(limit_lb, 0)} lb off, "
               f"{number(facts.landing_weight_lb, 0)} lb on")
    return FlightLine(f"{f['from_ident']} to {f['to_ident']}{stop}{what}", _when(off, on), flown, fuel, weights,
                      _runways(facts))


def _runways(facts: FlightFacts) -> str:
    return (f"off {_feet(facts.takeoff_required_ft)} of {_feet(facts.takeoff_available_ft)} ft, density altitude "
            f"{number(round(facts.density_altitude_ft, -2), 0)} ft; on {_feet(facts.landing_required_ft)} of "
            f"{_feet(facts.landing_available_ft)} ft")


def _feet(value: float) -> str:
    return number(round(value, -1), 0) if np.isfinite(value) else "unknown"


def _when(off: str, on: str) -> str:
    day, _, start = off.partition("T")
    return f"{int(day[8:])} {month_names()[int(day[5:7]) - 1]} {start} to {on.partition('T')[2]}"
