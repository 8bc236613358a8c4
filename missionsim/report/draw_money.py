"""Figures of money: what it is spent on, and how much years differ."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from missionsim.base.arrays import Array
from missionsim.money.categories import CATEGORIES
from missionsim.report.svg_figure import INK, SOFT, SvgFigure, key_below, look, names_on_y
from missionsim.report.wording import GROUPS, dollars
from missionsim.statistics.intervals import evenly
from missionsim.study.compare.compare import Comparison, Result

if TYPE_CHECKING:
    from matplotlib.figure import Figure

FILLS = (("#0b4f7a", ""), ("#d98200", "///"), ("#8fc1e3", ""), ("#3a8f5c", ".."), ("#f3d9a4", ""),
         ("#a64d9b", "\\\\\\"), ("#c9d3d8", ""), ("#8a5a2b", "xx"), ("#9fd0b0", ""), ("#3d4850", "---"),
         ("#e7b8dd", ""), ("#6f7f1f", "\\\\\\"), ("#c4574e", ""))
"""One look for each group of cost, so that no two parts of a bar are alike."""
MOST_DOTS = 100


def group_table(result: Result) -> dict[str, Array]:
    """Return dollars a year by group and replication; groups that never occur left out."""
    code = {str(c): i for i, c in enumerate(CATEGORIES)}
    table = {name: result.tally.categories[:, [code[c] for c in group if c in code]].sum(axis=1) / 100.0
             for name, group in GROUPS.items()}
    return {name: values for name, values in table.items() if values.any()}


def cost(comparison: Comparison) -> SvgFigure:
    """Return mean net cost by group, one stacked bar a candidate, with the spread of years."""
    names = list(comparison.names)
    tables = [group_table(r) for r in comparison.results]
    used = [g for g in GROUPS if any(g in t for t in tables)]
    means = np.array([[float(t[g].mean()) if g in t else 0.0 for g in used] for t in tables])
    net = [r.measures["net_cost_usd"] for r in comparison.results]
    parts = [", ".join(f"{g} {dollars(v)}" for g, v in zip(used, row, strict=True)) for row in means]
    words = "; ".join(f"{n}: {dollars(m['mean'])} dollars; at likely prices {dollars(sum(row))}, of which {p}"
                      for n, m, row, p in zip(names, net, means, parts, strict=True))

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        right, left = np.zeros(len(names)), np.zeros(len(names))
        for k, group in enumerate(used):
            colour, hatch = FILLS[list(GROUPS).index(group) % len(FILLS)]
            value = means[:, k] / 1000.0
            axes.barh(range(len(names)), value, left=np.where(value >= 0, right, left), color=colour, hatch=hatch,
                      edgecolor="white", linewidth=0.7, height=0.6, label=group)
            right, left = right + np.maximum(value, 0), left + np.minimum(value, 0)
        for i, m in enumerate(net):
            if m["p10"] is not None and m["p90"] is not None and m["mean"] is not None:
                axes.plot([m["p10"] / 1000, m["p90"] / 1000], [i + 0.4, i + 0.4], color=INK, linewidth=2.2,
                          solid_capstyle="butt", label="all of it, eight cases of ten" if i == 0 else None)
                axes.plot(m["mean"] / 1000, i + 0.4, "|", color=INK, markersize=9, markeredgewidth=2)
        names_on_y(axes, names)
        axes.set_xlabel("thousand dollars a year")
        key_below(figure, axes)

    return SvgFigure("cost", "What a year costs, and for what",
                 "Each bar adds up to what having all trips done costs in the mean at likely prices. The dark line "
                 "below it runs over eight cases of ten, with a stroke at the mean, prices nobody gave drawn anew in "
                 "each: they may be higher by more than lower, so that the stroke stands beyond the bar. Engine and "
                 "propeller are the overhauls that come in the years kept, over those years; travel otherwise is car, "
                 "airline or freight for trips this aircraft did not make. The key runs in the order of the bars.",
                 words, 2.6 + 0.62 * len(names), draw)


def spread(comparison: Comparison) -> SvgFigure:
    """Return the net cost of single years, one row of dots a candidate."""
    names = list(comparison.names)
    net = [r.measures["net_cost_usd"] for r in comparison.results]
    words = "; ".join(f"{n}: {dollars(m['p10'])} to {dollars(m['p90'])} dollars in eight cases of ten, mean "
                      f"{dollars(m['mean'])}" for n, m in zip(names, net, strict=True))
    dots = [evenly(comparison.cost_draws(i) / 1000.0, MOST_DOTS) for i in range(len(comparison.results))]

    def draw(figure: Figure) -> None:
        axes = figure.add_subplot()
        for i, (values, m) in enumerate(zip(dots, net, strict=True)):
            own = look(i)
            # Dots are shifted up and down by rank so that equal years do not hide each other.
            lift = (np.arange(len(values)) * 7 % 11 - 5) * 0.032
            axes.plot(values, i + lift, linestyle="none", marker=own["marker"], color=own["color"], markersize=4,
                      alpha=0.75, markeredgewidth=0)
            if m["p10"] is not None and m["p90"] is not None:
                axes.plot([m["p10"] / 1000, m["p90"] / 1000], [i + 0.3, i + 0.3], color=SOFT, linewidth=1.2)
            if m["low"] is not None and m["high"] is not None and m["mean"] is not None:
                axes.plot([m["low"] / 1000, m["high"] / 1000], [i + 0.3, i + 0.3], color=INK, linewidth=4,
                          solid_capstyle="butt")
        names_on_y(axes, names)
        axes.set_xlabel("net cost of a year, thousand dollars")

    return SvgFigure("spread", "How much years differ",
                 "Each dot is a hundredth of all cases in order of cost: simulated years, in each of which prices "
                 "nobody gave were drawn many times. The thin line covers eight cases of ten, the thick part the 95 % "
                 "interval of the mean. Rows that overlap much are hard to tell apart in one year; all candidates fly "
                 "the same years, so the paired differences in the table are surer than the picture.",
                 words, 1.1 + 0.75 * len(names), draw)
