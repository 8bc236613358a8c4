"""The report's tables as rows of text, ready for a template."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.words import EXPLAINED, REASONS
from missionsim.report.answer_alternatives import alternative_rows, flown_results, must_go_lost, must_go_words
from missionsim.report.draw_money import group_table
from missionsim.report.wording import GROUPS, dollars, each_step, in_usd, number, plain
from missionsim.statistics.intervals import measure
from missionsim.study.compare.alternatives import OWN
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.replicate.tally import FUEL_STOPS, OUTCOMES
from missionsim.year.trips import Trip

MOST_PAIRS = 15
MINUS = "−\u2060"
"""With a joiner, so that no line breaks after it."""


@dataclass(frozen=True, slots=True)
class Table:
    """A table: headings, and rows of which the first cell is a heading too."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """What became of one trip with one candidate over the years looked at; `sort` for sorting, the rest to read."""

    sort: float
    made: str
    detail: str


@dataclass(frozen=True, slots=True)
class TripLine:
    """One trip of the list with its cells, one a candidate."""

    anchor: str
    trip_id: str
    title: str
    day: str
    sort_day: str
    places: str
    people: int
    bags_lb: float
    must_go: bool
    cells: tuple[Cell, ...]


def candidates(comparison: Comparison) -> Table:
    """Return everything one could do, in the order of the trade-off: those that make the fewest trips first."""
    head = ("Alternative", "A year, all trips done", "Eight cases of ten", "Mean lies in (95 %)", "Trips made",
            "Faster / as long / slower than otherwise", "Must-go trips lost", "Car and airline",
            "Hours of all travellers", "Flight hours", "A flight hour, aircraft alone, at likely prices",
            "Equals not owning at", "Does the job")
    results, rows = flown_results(comparison), []
    for row in alternative_rows(comparison):
        speed, *rest = _flown_cells(results.get((row["kind"], row["name"])), row["kind"] == OWN)
        net = row["net_cost_usd"]
        name = row["name"] + (" (estimate; a partnership flown tells more)" if row["estimate"] else "")
        rows.append((name, in_usd(net['mean']), span(net["p10"], net["p90"]), span(net["low"], net["high"]),
                     number(row["trips_made"]["mean"]), speed, must_go_lost(row),
                     in_usd(row['car_and_airline_usd']['mean']), number(row["compared_hours"]["mean"], 0), *rest))
    wanted = comparison.results[0].measures["trips_wanted"]["mean"] if comparison.results else 0.0
    return Table(f"What one could do with {number(wanted, 0)} trips, those that make the fewest of them first; "
                 "dollars a year with all trips done, hours of the trips that nobody gives up; must-go trips lost: "
                 f"{must_go_words(comparison)}", head, tuple(rows))


def _flown_cells(flown: Result | None, owned: bool) -> tuple[str, ...]:
    """Return the cells of an alternative that was flown; only one owned has a value of an hour at which that pays."""
    if flown is None:
        return ("–",) * 5
    m = flown.measures
    speed = " / ".join(number(m[k]["mean"], 0) for k in ("trips_faster", "trips_equal", "trips_slower"))
    equal = (flown.equals_not_owning_usd_per_h or {}).get("at")
    job = flown.does_the_job + (f": {flown.why_not}" if flown.why_not else "")
    worth = "at no value of an hour" if equal is None else f"${dollars(equal, 1.0)} an hour"
    return (speed, number(m["flight_hours"]["mean"], 0), _hourly(m["cost_per_hour_usd"]["mean"]),
            worth if owned else "–", job)


def _hourly(usd: float | None) -> str:
    return "–" if usd is None else in_usd(usd, 1.0)


def span(low: float | None, high: float | None, step: float = 100.0, sign: str = "$") -> str:
    """Return a range in words; a dash where there is none.

    Parameters
    ----------
    low, high : float, optional   None where unknown.
    step : float                  Rounded to.
    sign : str                    Written before the numbers.
    """
    if low is None or high is None:
        return "–"
    text = f"{sign}{dollars(low, step)} to {dollars(high, step)}"
    return f"−{text.replace('−', '', 1)}" if sign and text.startswith(f"{sign}−") else text


def pairs(comparison: Comparison) -> Table:
    """Return the paired differences of every pair, or of the leading candidate with all others where there are many."""
    names = comparison.names
    lead = names[comparison.lead]
    found: dict[tuple[str, str], dict[str, Mapping[str, Any]]] = {}
    for d in comparison.differences:
        found.setdefault((d["a"], d["b"]), {})[d["measure"]] = d
    chosen = {k: v for k, v in found.items() if len(found) <= MOST_PAIRS or lead in k}
    rows = []
    for (a, b), by in chosen.items():
        hour = by.get("extra_usd_per_hour_saved")
        rows.append((f"{a} minus {b}", _difference(by.get("net_cost_usd"), 100.0, "$"),
                     _difference(by.get("completed_share"), 0.001, "", 100.0, " % of trips"),
                     _difference(by.get("door_to_door_hours"), 1.0, "", 1.0, " h"),
                     _difference(hour, each_step(None if hour is None else hour["mean"]), "$")))
    head = ("Pair", "Net cost a year", "Trips completed", "Hours door to door", "Price of an hour saved")
    return Table("Differences in the same simulated years, with the 95 % interval of the mean", head, tuple(rows))


def _difference(d: Mapping[str, Any] | None, step: float, sign: str, factor: float = 1.0, unit: str = "") -> str:
    if d is None or d["mean"] is None:
        return "–"
    decimals = 1 if step < 0.5 else 0

    def shown(value: float) -> str:
        amount = number(abs(value) * factor, decimals) if step < 0.5 else dollars(abs(value), step)
        return f"{MINUS if value < 0 and amount.strip('0.,') else ''}{sign}{amount}"

    if d["low"] is None or d["high"] is None:
        return shown(d["mean"]) + unit
    return f"{shown(d['mean'])}{unit} ({shown(d['low'])} to {shown(d['high'])})"


def refusals(comparison: Comparison) -> Table:
    """Return mean trips refused and delayed a year by reason: in any weather, on the day, late."""
    head = ("Reason", *comparison.names)
    rows = []
    for reason in REASONS:
        cells = [_three(r, str(reason)) for r in comparison.results]
        if any(c != "–" for c in cells):
            rows.append((plain(reason), *cells))
    return Table("Trips a year by reason: refused in any weather / refused on the day / late", head, tuple(rows))


def _three(result: Result, reason: str) -> str:
    found = [result.refused["structural"].get(reason, 0.0), result.refused["on_the_day"].get(reason, 0.0),
             result.delayed.get(reason, 0.0)]
    return " / ".join(number(v) for v in found) if any(v >= 0.05 for v in found) else "–"


def costs(comparison: Comparison) -> Table:
    """Return mean dollars a year by group of cost, with the spread of years."""
    tables = [group_table(r) for r in comparison.results]
    rows = []
    for group in GROUPS:
        if any(group in t for t in tables):
            rows.append((group, *(_spent(t.get(group)) for t in tables)))
    rows.append(("All", *(_spent(r.values("net_cost_usd")) for r in comparison.results)))
    caption = "Dollars a year at likely prices: mean (eight years of ten)"
    return Table(caption, ("Spent on", *comparison.names), tuple(rows))


def _spent(values: Array | None) -> str:
    if values is None:
        return "–"
    m = measure(values)
    same = m["p10"] is not None and m["p90"] is not None and abs(m["p90"] - m["p10"]) < 0.5
    return dollars(m["mean"], 10.0) if same else f"{dollars(m['mean'], 10.0)} ({span(m['p10'], m['p90'], 10.0, '')})"


def glossary() -> tuple[tuple[str, str], ...]:
    """Return every reason with its meaning."""
    return tuple((plain(reason), text) for reason, text in EXPLAINED.items())


def trip_lines(comparison: Comparison) -> list[TripLine]:
    """Return the study's trips with what became of each; where demand is generated, of the first simulated year."""
    table = comparison.prepared.table
    cells = [_cells(r, len(table)) for r in comparison.results]
    return [_line(trip, k, tuple(c[k] for c in cells)) for k, trip in enumerate(table)]


def _line(trip: Trip, k: int, cells: tuple[Cell, ...]) -> TripLine:
    day = trip.departs_local[0]
    title = trip.purpose or f"to {', '.join(trip.destinations)}"
    return TripLine(f"trip-{k + 1}", trip.trip_id, title, f"{day:%d %b}", f"{day:%m%d%H%M}",
                    ", ".join(trip.destinations), trip.people, trip.bags_lb, trip.must_go, cells)


def _cells(result: Result, trips: int) -> list[Cell]:
    part = result.tally
    if len(part.by_trip):
        outcome, why, stops = part.by_trip, part.trip_reason, part.trip_sum[:, FUEL_STOPS]
    else:
        outcome, why, stops = _first_year(result, trips)
    hours, usd = _however_made(result, trips)
    made = outcome[:, 0] + outcome[:, 1]
    left, wanted = np.maximum(made + outcome[:, 2], 1.0), outcome.sum(axis=1)
    return [Cell(made[k] / max(wanted[k], 1.0), _made(made[k], int(wanted[k])),
                 _detail(outcome[k], why[k], stops[k] / left[k], hours[k], usd[k])) for k in range(trips)]


def _made(made: float, years: int) -> str:
    """Return how often a trip was made in the years in which it was wanted."""
    if years == 0:
        return "not wanted"
    if years == 1:
        return "made" if made else "not made"
    return "always" if made == years else "never" if made == 0 else f"{made / years * 100:.0f} %"


def _detail(outcome: Array, why: Array, stops: float, hours: float, usd: float) -> str:
    shown = number(stops, 0 if stops >= 0.95 else 1)
    parts = [f"{shown}\u00a0stop{'' if shown == '1' else 's'}"] if stops >= 0.05 else []
    parts += [f"{number(hours)}\u00a0h"] if hours >= 0.05 else []      # none where it is always given up
    parts += [in_usd(usd, 1.0)] if np.isfinite(usd) else []
    if why.any() and (outcome[2] + outcome[3] > 0 or outcome[1] > 0):
        parts.append(plain(REASONS[int(np.argmax(why))]))
    return " · ".join(parts)


def _first_year(result: Result, trips: int) -> tuple[Array, Array, Array]:
    outcome, why, stops = np.zeros((trips, len(OUTCOMES))), np.zeros((trips, len(REASONS))), np.zeros(trips)
    assert result.tally.kept is not None
    columns = result.tally.kept.trips
    first = columns["replication"] == 0
    words = [str(r) for r in REASONS]
    for k, end, reason in zip(columns["trip"][first], columns["outcome"][first], columns["reason"][first], strict=True):
        outcome[k, OUTCOMES.index(end)] += 1
        if reason in words:
            why[k, words.index(reason)] += 1
    stops[columns["trip"][first]] = columns["fuel_stops"][first]
    return outcome, why, stops


def _however_made(result: Result, trips: int) -> tuple[Array, Array]:
    """Return by trip mean hours of one traveller and mean dollars of all, NaN where nobody wanted it.

    Of every year flown that wanted it, whatever its records, and by car or airline where the aircraft did not make it:
    so columns hold the same trips of the same years. Hours are in no dollars. Where each year draws its own trips, of
    the first.
    """
    part = result.tally
    t = part.trips
    some = np.ones(len(t.trip), dtype=bool) if len(part.by_trip) else t.replication == 0
    usd = t.flown_usd.astype(np.float64) + t.car_usd + t.airline_usd + t.lost_usd
    years = np.bincount(t.trip[some], minlength=trips)
    hours, dollars_ = (np.divide(np.bincount(t.trip[some], values[some], trips), years, out=np.full(trips, np.nan),
                                 where=years > 0) for values in (t.party_h, usd))
    return hours, dollars_
