"""Days of one trip in words: every flight of a simulated year, and why the trip was refused, cut short or late."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np

from missionsim.base.words import Purpose
from missionsim.report.records import local_minutes
from missionsim.report.wording import OUTCOME, count, month_names, number, plain, start
from missionsim.study.compare.compare import Comparison
from missionsim.study.explain.replication import FlightFacts
from missionsim.study.explain.trip_days import (
    NEAREST,
    USUAL,
    WORST,
    FieldWeather,
    TripDay,
    commonest_among,
    day_of,
    told_year,
    trip_days,
)
from missionsim.study.replicate.one_year import weather_of
from missionsim.study.replicate.shop_sums import MADE
from missionsim.world.surface.flight_category import UNLIMITED_FT

TITLES = {USUAL: "A usual year", NEAREST: "The nearest miss", WORST: "The worst year"}


@dataclass(frozen=True, slots=True)
class FlightLine:
    """One flight in words: what, when, how high, which wind, fuel, weights, runways, weather of both fields."""

    way: str
    when: str
    flown: str
    fuel: str
    weights: str
    runways: str
    weather: str


@dataclass(frozen=True, slots=True)
class ToldDay:
    """One simulated year of one trip: which of its years it is, what became of it, and its flights."""

    title: str
    outcome: str
    why: str
    flights: tuple[FlightLine, ...]


def usual_days(comparison: Comparison) -> dict[int, ToldDay]:
    """Return a usual day of each trip with the leading candidate; empty where no records were kept.

    Of the first few years flown the one of a trip's most frequent fate is told. Where every year draws its own trips,
    and of ownerships, it is the first simulated year.
    """
    if any(r.tally.kept is None for r in comparison.results):
        return {}
    study, lead = comparison.study, comparison.lead
    years = comparison.results[lead].tally.trips
    few = int(study.assumptions["explain.years_judged"])
    alike = study.listed is not None and study.spec.years == 1
    chosen = comparison.results[lead].tally.replications[:few if alike else 1].tolist()
    known = {r: years[lead] for r, years in zip(chosen, comparison.told or (), strict=False)}
    told = {r: known.get(r) or told_year(comparison.prepared.entrants[lead], r) for r in chosen}
    out = {}
    for k in range(len(comparison.prepared.table)):
        r = commonest_among(years, k, chosen) if alike else chosen[0]
        if k in told[r].trips["trip"]:
            day = _told(comparison, lead, day_of(USUAL, told[r], k, r))
            out[k] = day if alike else ToldDay("The first simulated year", day.outcome, day.why, day.flights)
    return out


def days_of(comparison: Comparison, trip: int) -> tuple[tuple[ToldDay, ...], ...]:
    """Return the usual year of one trip of a list, its nearest miss and its worst year, for every candidate.

    Several years are flown again for it; of ownerships nothing is told.
    """
    if comparison.study.listed is None or comparison.study.spec.years > 1:
        return tuple(() for _ in comparison.results)
    weather = cache(lambda replication: weather_of(comparison.prepared, replication))
    return tuple(tuple(_told(comparison, entrant.number, day) for day in trip_days(
        entrant, comparison.results[entrant.number].tally.trips, trip,
        cache(lambda r, entrant=entrant: told_year(entrant, r, weather(r)))))
        for entrant in comparison.prepared.entrants)


def _told(comparison: Comparison, number: int, day: TripDay) -> ToldDay:
    title = TITLES[day.kind] + (f" of {count(day.judged, 'year')} not made that were looked at" if day.judged else "")
    return ToldDay(f"{title} (simulated year {day.replication + 1})", OUTCOME[day.outcome], _why(day),
                   _lines(comparison, number, day))


def _why(day: TripDay) -> str:
    why = f"{plain(day.reason)}: {day.why}." if day.reason and day.why else plain(day.reason)
    how = f"{start(day.how)}." if day.how and day.outcome in MADE else ""
    return " ".join(part for part in (start(why), how) if part)


def _lines(comparison: Comparison, number_: int, day: TripDay) -> tuple[FlightLine, ...]:
    study, f = comparison.study, day.flights
    limit_lb = comparison.prepared.flyers[number_].candidate.profile.max_takeoff_lb
    ends = f["from_ident"].tolist(), f["to_ident"].tolist()
    zones = {i: study.airports.find(i).timezone for i in sorted({*ends[0], *ends[1]})}
    off = local_minutes(f["depart_h"], [zones[i] for i in ends[0]], study.year)
    on = local_minutes(f["depart_h"] + f["block_h"], [zones[i] for i in ends[1]], study.year)
    out = []
    for n in range(len(off)):
        row = {name: values[n] for name, values in f.items()}
        facts = day.facts.get((int(f["leg"][n]), ends[0][n], ends[1][n]))
        out.append(_line(row, _when(off[n], on[n]), facts, limit_lb, _weather(day.weather[n])))
    return tuple(out)


def _line(f: dict[str, Any], when: str, facts: FlightFacts | None, limit_lb: float, weather: str) -> FlightLine:
    stop = " (fuel stop)" if f["is_stop"] else ""
    what = "" if f["purpose"] == str(Purpose.TRIP) else f", {plain(f['purpose'])}"
    wind = float(f["headwind_kt"])
    flown = f"{number(float(f['flight_h']), 2)} h, {number(float(f['distance_nm']), 0)} nm"
    if float(f["level_ft"]) > 0:
        side = "head" if wind >= 0 else "tail"
        flown += (f" at {number(float(f['level_ft']), 0)} ft, {abs(wind):.0f} kt {side} wind, "
                  f"{float(f['groundspeed_kt']):.0f} kt over ground")
    fuel = f"{number(float(f['fuel_burn_gal']))} gal burned"
    way = f"{f['from_ident']} to {f['to_ident']}{stop}{what}"
    if facts is None:
        return FlightLine(way, when, flown, fuel, "", "", weather)
    fuel += f", {number(facts.fuel_required_gal)} wanted at start"
    weights = (f"{number(facts.takeoff_weight_lb, 0)} of {number(limit_lb, 0)} lb off, "
               f"{number(facts.landing_weight_lb, 0)} lb on")
    return FlightLine(way, when, flown, fuel, weights, _runways(facts), weather)


def _weather(fields: tuple[FieldWeather, FieldWeather]) -> str:
    """Return the weather at departure and on arrival."""
    return " / ".join(_field(w) for w in fields)


def _field(w: FieldWeather) -> str:
    ceiling = "no ceiling" if w.ceiling_ft >= UNLIMITED_FT else f"{number(round(w.ceiling_ft, -2), 0)} ft"
    sight = "10 sm" if w.visibility_sm >= 9.5 else f"{w.visibility_sm:.2g} sm"
    from_deg = round(w.wind_from_deg / 10.0) * 10 % 360 or 360
    wind = "calm" if w.wind_kt < 1.5 else f"{from_deg:03d}°\u00a0{w.wind_kt:.0f}\u00a0kt"
    return f"{ceiling}, {sight}, {wind}, {number(w.temperature_c, 0)}\u00a0°C"


def _runways(facts: FlightFacts) -> str:
    return (f"off {_feet(facts.takeoff_required_ft)} of {_feet(facts.takeoff_available_ft)} ft, density altitude "
            f"{number(round(facts.density_altitude_ft, -2), 0)} ft; on {_feet(facts.landing_required_ft)} of "
            f"{_feet(facts.landing_available_ft)} ft")


def _feet(value: float) -> str:
    return number(round(value, -1), 0) if np.isfinite(value) else "unknown"


def _when(off: str, on: str) -> str:
    day, _, begin = off.partition("T")
    return f"{int(day[8:])} {month_names()[int(day[5:7]) - 1]} {begin} to {on.partition('T')[2]}"
