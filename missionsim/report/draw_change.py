"""Figures of what would change the choice, and of engines growing old."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from missionsim.report.svg_figure import (
    COLOURS,
    HATCHES,
    INK,
    SOFT,
    SvgFigure,
    key_below,
    key_in,
    look,
    names_on_y,
    wrapped,
)
from missionsim.report.wording import dollars, number, percent
from missionsim.study.compare.compare import Comparison

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SHOWN = 10
"""Inputs in the figure; the table has all."""


def bars(comparison: Comparison) -> SvgFigure | None:
    """Return how far each input moves the lead of the cheapest over the next in cost."""
    found = comparison.bars[:SHOWN]
    if not found or len(found[0].low_usd) < 2:
        return None
    (lead, lead_usd), (rival, rival_usd) = _cheapest_two(comparison)
    middle = (rival_usd - lead_usd) / 1000
    ends = np.array([[(b.low_usd[rival] - b.low_usd[lead]) / 1000, (b.high_usd[rival] - b.high_usd[lead]) / 1000]
                     for b in found])
    names = [b.what for b in found]
    words = "; ".join(f"{n}: lead of {dollars(e[0] * 1000)} to {dollars(e[1] * 1000)} dollars"
                      for n, e in zip(names, ends, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        rows = range(len(names))
        axes.barh(rows, ends[:, 0] - middle, left=middle, height=0.6, color=COLOURS[4], hatch=HATCHES[1],
                  edgecolor="white", label="with the input low")
        axes.barh(rows, ends[:, 1] - middle, left=middle, height=0.6, color=COLOURS[0], edgecolor="white",
                  label="with the input high")
        axes.axvline(0.0, color=INK, linewidth=1.4)
        names_on_y(axes, names, 22)
        axes.set_xlabel(f"lead of {wrapped(lead, 40)}, thousand dollars a year")
        key_below(figure, axes)

    return SvgFigure("inputs", "What the lead hangs on",
                 f"How much less a year costs with {lead} than with {rival}, the next in cost, when one input takes "
                 "its low and its high value and all else stays. Left of the dark line the lead is lost. The table "
                 "names the values.", words, 1.4 + 0.5 * len(names), draw)


def _cheapest_two(comparison: Comparison) -> list[tuple[str, float]]:
    """Return name and mean cost a year of the two cheapest that do the job, over the years where there are several."""
    cost = {r.name: r.measures["net_cost_at_likely_prices_usd"]["mean"] or 0.0 for r in comparison.results
            if r.name in comparison.bars[0].low_usd}
    return sorted(cost.items(), key=lambda item: item[1])[:2]


def engines(comparison: Comparison) -> SvgFigure | None:
    """Return hours on the engine over the years of ownership, against the published time between overhauls."""
    parts = [r.tally.owned for r in comparison.results]
    if any(p is None for p in parts):
        return None
    names = comparison.names
    tbo_h = [f.cost.tbo_h for f in comparison.prepared.flyers]
    curves = []
    for part, limit_h in zip(parts, tbo_h, strict=True):
        assert part is not None
        flown_h = np.cumsum(part.records.flight_hours, axis=1)
        start_h = part.draws.hours_since_overhaul_h[:, None]
        hours = np.concatenate([np.broadcast_to(start_h, (len(flown_h), 1)), start_h + flown_h], axis=1)
        curves.append(np.quantile(hours / limit_h * 100.0, (0.1, 0.5, 0.9), axis=0))
    words = "; ".join(f"{n}: {percent(c[1, 0] / 100)} of {number(t, 0)} hours at purchase, {percent(c[1, -1] / 100)} "
                      "at the end" for n, c, t in zip(names, curves, tbo_h, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        years = np.arange(curves[0].shape[1])
        for k, (name, curve) in enumerate(zip(names, curves, strict=True)):
            own = look(k)
            axes.plot(years, curve[1], **own, markersize=5, linewidth=1.7, label=wrapped(name, 26))
            axes.vlines(years + 0.05 * (k - len(curves) / 2), curve[0], curve[2], color=own["color"], linewidth=1.1)
        axes.axhline(100.0, color=SOFT, linewidth=1.4)
        axes.set_ylim(bottom=0.0)
        axes.set_xticks(years)
        axes.set_xlabel("years since purchase")
        axes.set_ylabel("engine hours, % of TBO")
        axes.grid(axis="y")
        key_below(figure, axes)

    return SvgFigure("engine-hours", "Engine hours against the published limit",
                 "Hours since overhaul if none came in between, as a share of the published time between overhauls "
                 "(TBO); upright lines hold eight owners of ten. Engines may need an overhaul long before 100 % and "
                 "may pass it; the table of cash tells in which years they were overhauled here.", words,
                 3.5 + key_in(len(names)), draw)
