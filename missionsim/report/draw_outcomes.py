"""Figures of what was flown and why not: outcomes, reasons, the months, one year day by day."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from missionsim.base.arrays import Array, Columns
from missionsim.base.words import REASONS
from missionsim.report.svg_figure import (
    COLOURS,
    HATCHES,
    INK,
    RULE,
    SOFT,
    SvgFigure,
    key_below,
    key_in,
    look,
    names_on_y,
    wrapped,
)
from missionsim.report.wording import listing, month_names, number, percent, plain
from missionsim.study.compare.compare import Comparison, Result

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

PARTS = (("completed in time", "#0b4f7a", "", "white"), ("delayed", "#7db8dc", "///", INK),
         ("broken off", "#f2b84b", "xx", INK), ("refused on the day", "#efe9dd", "..", INK),
         ("refused in any weather", "#7a6a58", "", "white"))
LEAST = 0.25
"""Reasons rarer than this for every candidate are left to the table. [trips a year]"""


def outcomes(comparison: Comparison) -> SvgFigure:
    """Return how the trips of a year ended, one bar a candidate."""
    names = list(comparison.names)
    table = np.array([parts_of(r) for r in comparison.results])
    most = float(table.sum(axis=1).max())
    words = "; ".join(f"{n}: " + ", ".join(f"{number(v)} {p[0]}" for v, p in zip(row, PARTS, strict=True))
                      for n, row in zip(names, table, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        left = np.zeros(len(names))
        for k, (label, colour, hatch, text) in enumerate(PARTS):
            axes.barh(range(len(names)), table[:, k], left=left, color=colour, hatch=hatch, edgecolor="white",
                      linewidth=0.8, height=0.62, label=label)
            for i, value in enumerate(table[:, k]):
                if value >= 0.06 * most:
                    _label(axes, left[i] + value / 2, i, number(value, 0 if most >= 20 else 1), text,
                           colour if hatch else None)
            left = left + table[:, k]
        names_on_y(axes, names)
        axes.set_xlabel("trips a year, mean of the simulated years")
        key_below(figure, axes)

    return SvgFigure("outcomes", "How the trips ended",
                 "Each bar is all trips wanted in a year. Delayed trips were made: more than an hour late out or three "
                 "hours late home. Broken off: it left, but a place was skipped or the party came home otherwise. "
                 "Refused in any weather: this aircraft cannot do it; on the day: weather, shop or hours stood in the "
                 "way.",
                 words, 1.5 + 0.55 * len(names), draw)


def parts_of(result: Result) -> list[float]:
    """Return mean trips a year by how they ended, in the order of the figure."""
    part = result.tally
    completed, delayed, broken = (float(part.column(c).mean()) for c in ("completed", "delayed", "broken_off"))
    return [completed - delayed, delayed, broken, float(part.on_the_day.sum(axis=1).mean()),
            float(part.structural.sum(axis=1).mean())]


def _label(axes: Axes, x: float, y: float, text: str, colour: str, back: str | None) -> None:
    box = {"boxstyle": "round,pad=0.15", "facecolor": back, "edgecolor": "none"} if back else None
    axes.text(x, y, text, ha="center", va="center", color=colour, fontsize=9, bbox=box)


def reasons(comparison: Comparison) -> SvgFigure:
    """Return mean refusals by reason and candidate."""
    counts = np.array([(r.tally.structural + r.tally.on_the_day).mean(axis=0) for r in comparison.results])
    order = [i for i in np.argsort(-counts.sum(axis=0), kind="stable") if counts[:, i].max() >= LEAST]
    labels = [plain(REASONS[i]) for i in order]
    names = comparison.names
    words = "; ".join(f"{label}: " + ", ".join(f"{n} {number(counts[k, i])}" for k, n in enumerate(names))
                      for label, i in zip(labels, order, strict=True)) or "no trip was refused"
    height = 0.8 / max(len(names), 1)

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        for k, name in enumerate(names):
            axes.barh(np.arange(len(order)) + (k - (len(names) - 1) / 2) * height, counts[k, order], height=height,
                      color=COLOURS[k % len(COLOURS)], hatch=HATCHES[k % len(HATCHES)], edgecolor="white",
                      linewidth=0.5, label=wrapped(name, 26))
        names_on_y(axes, labels)
        axes.set_xlabel("trips refused a year, mean")
        key_below(figure, axes)

    return SvgFigure("reasons", "Why trips were refused",
                 "One group of bars a reason, one bar a candidate: longer is worse. A trip counts once, under the "
                 f"reason that decided; reasons below {LEAST:g} trips a year stand in the table alone. The words are "
                 "explained in the list of reasons below.",
                 words, 1.3 + max(len(order), 1) * (0.115 * len(names) + 0.1) + key_in(len(names)), draw)


def months(comparison: Comparison) -> SvgFigure:
    """Return the share of trips completed, month by month."""
    rows = [[np.nan if m["completed_share"] is None else float(m["completed_share"]) for m in r.by_month]
            for r in comparison.results]
    names = comparison.names
    words = "; ".join(f"{n}: " + ", ".join(f"{m} {percent(None if np.isnan(v) else v)}"
                                           for m, v in zip(month_names(), row, strict=True))
                      for n, row in zip(names, rows, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        for k, (name, row) in enumerate(zip(names, rows, strict=True)):
            axes.plot(range(12), np.array(row) * 100, **look(k), markersize=5, linewidth=1.6, label=wrapped(name, 26))
        axes.set_xticks(range(12), [m[0] for m in month_names()])
        axes.set_ylim(0, 104)
        axes.set_ylabel("% of the month's trips completed")
        axes.grid(axis="y")
        key_below(figure, axes)

    return SvgFigure("months", "Month by month",
                 "Share of the trips planned in each month that were completed, January on the left; a gap is a month "
                 "without trips.",
                 words, 3.3 + key_in(len(names)), draw)


def calendar(comparison: Comparison) -> SvgFigure | None:
    """Return the first simulated year day by day: flights, shop, trips not made, and hours adding up."""
    kept = [r.tally.kept for r in comparison.results if r.tally.kept is not None]
    if len(kept) < len(comparison.results):
        return None
    columns = [tuple({n: part[n][part["replication"] == 0] for n in wanted} for part, wanted in (
        (k.flights, ("depart_h", "flight_h")), (k.trips, ("outcome", "planned_h")))) for k in kept]
    shops = [_shop(k.shop) for k in kept]
    names, totals = list(comparison.names), [float(f["flight_h"].sum()) for f, _ in columns]
    words = listing([f"{n} flew {number(t, 0)} hours" for n, t in zip(names, totals, strict=True)]) + \
        " in the first simulated year"

    def draw(figure: Figure) -> None:
        above, below = figure.subplots(2, 1, sharex=True, height_ratios=(0.5 + 0.45 * len(names), 1.9))
        for i, (flights, trips) in enumerate(columns):
            _days(above, i, flights, trips, shops[i])
            weeks = np.arange(0.0, 372.0, 7.0)
            hours = np.array([float(flights["flight_h"][flights["depart_h"] < 24.0 * day].sum()) for day in weeks])
            below.plot(weeks, hours, color=look(i)["color"], linestyle=look(i)["linestyle"], linewidth=1.6,
                       label=wrapped(names[i], 26))
        names_on_y(above, names)
        below.set_xticks(np.cumsum([0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30]), [m[0] for m in month_names()])
        below.set_xlim(0, 366)
        below.set_ylabel("flight hours")
        below.grid(axis="y")
        key_below(figure, below)

    return SvgFigure("calendar", "One simulated year, day by day",
                 "The first simulated year. Above: a tall tick is a flight, a solid bar time at the shop, a small "
                 "cross a trip that was refused. Below: flight hours adding up through the year.",
                 words, 2.9 + 0.55 * len(names) + key_in(len(names)), draw)


def _shop(shop: Columns) -> Array:
    first = shop["replication"] == 0
    return np.stack([shop["start_h"][first], shop["end_h"][first]], axis=1).astype(float)


def _days(axes: Axes, i: int, flights: dict[str, Array], trips: dict[str, Array], shop: Array) -> None:
    colour = look(i)["color"]
    axes.vlines(flights["depart_h"] / 24, i - 0.32, i + 0.05, color=colour, linewidth=0.9)
    axes.barh([i + 0.16] * len(shop), np.maximum(shop[:, 1] - shop[:, 0], 12.0) / 24, left=shop[:, 0] / 24, height=0.14,
              color=SOFT)
    refused = trips["outcome"] == "refused"
    axes.plot(trips["planned_h"][refused] / 24, np.full(int(refused.sum()), i + 0.36), "x", color=INK, markersize=3.5,
              markeredgewidth=0.9)
    axes.axhline(i + 0.5, color=RULE, linewidth=0.6)
