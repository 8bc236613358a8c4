"""A finished comparison as a notebook wants it: short in print, tables as data frames, figures on one's own axes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

import pandas as pd
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from missionsim.base.errors import Fault, InputError, near_match
from missionsim.report.answer import answer
from missionsim.report.answer_alternatives import alternative_rows
from missionsim.report.records import flights_frame, ledger_frame, summary_frame, trips_frame
from missionsim.report.tables import candidates as candidates_table
from missionsim.study.compare.compare import Comparison, Result
from missionsim.study.compare.compare import compare as compared
from missionsim.study.compare.measures import COUNTED, SHARES
from missionsim.study.inputs.load_study import Study

MEASURES = ("net_cost_usd", "cost_usd", "trips_wanted", *SHARES, *COUNTED)
"""Measures that have a value in each replication."""


def compare(study: Study, replications: int | None = None, workers: int = 1, keep: int = 20, **more: Any) -> Found:
    """Fly all candidates of a study and compare them; see `missionsim.study.compare.compare`.

    Parameters
    ----------
    study : Study
    replications : int, optional   Simulated years; the study's own number when left out.
    workers : int                  Processes; results do not depend on it.
    keep : int                     Replications whose single trips, flights and dollars are kept.
    """
    return Found(compared(study, replications, workers, keep, **more))


@dataclass(frozen=True, repr=False)
class Found:
    """What a comparison found. Everything a `Comparison` has can be asked of it too."""

    comparison: Comparison

    def __getattr__(self, name: str) -> Any:
        """Return what the comparison has under this name."""
        if name.startswith("__") or name == "comparison":
            raise AttributeError(name)
        return getattr(self.comparison, name)

    def __repr__(self) -> str:
        said = answer(self.comparison)
        head = f"{self.comparison.study.name}: {self.comparison.replications} simulated years"
        return "\n".join(line for line in (head, said.verdict, said.cost, said.wallet) if line)

    def _repr_html_(self) -> str:
        table = candidates_table(self.comparison)
        head = "".join(f"<th>{escape(h)}</th>" for h in table.head)
        rows = "".join("<tr>" + "".join(f"<td>{escape(c)}</td>" for c in row) + "</tr>" for row in table.rows)
        return f"<table><caption>{escape(table.caption)}</caption><tr>{head}</tr>{rows}</table>"

    def answer(self) -> str:
        """Return the answer in sentences."""
        return "\n".join(answer(self.comparison).sentences)

    def candidate(self, name: str) -> Result:
        """Return one candidate's result.

        Raises
        ------
        InputError   No candidate has this name; with the nearest one.
        """
        names = list(self.comparison.names)
        if name not in names:
            raise InputError([Fault("compare", "candidate", f"none is named {name!r}", ", ".join(names),
                                    near_match(name, names))])
        return self.comparison.result(name)

    def summary(self) -> pd.DataFrame:
        """Return one row a candidate and measure with its interval and points of single years."""
        return summary_frame(self.comparison)

    def alternatives(self) -> pd.DataFrame:
        """Return one row for everything one could do with the trips: means a year, the fewest trips made first."""
        rows = [{k: v["mean"] if isinstance(v, dict) else v for k, v in row.items()}
                for row in alternative_rows(self.comparison)]
        return pd.DataFrame(rows)

    def trips(self) -> pd.DataFrame:
        """Return every trip of the kept replications, one row a candidate, replication and trip."""
        return trips_frame(self.comparison)

    def flights(self) -> pd.DataFrame:
        """Return every flight of the kept replications."""
        return flights_frame(self.comparison)

    def ledger(self) -> pd.DataFrame:
        """Return every dollar of the kept replications, as numbers."""
        frame = ledger_frame(self.comparison)
        return frame.assign(amount_usd=frame["amount_usd"].astype(float))

    def shop(self) -> pd.DataFrame:
        """Return every visit to the shop of the kept replications."""
        frames = [pd.DataFrame({"candidate": r.name, **r.tally.kept.shop}) for r in self.comparison.results
                  if r.tally.kept is not None]
        return pd.concat(frames, ignore_index=True) if frames else pd.DataFrame()

    def by_replication(self, measure: str) -> pd.DataFrame:
        """Return a measure with one row a replication and one column a candidate.

        Raises
        ------
        InputError   No measure has this name; with the nearest one.
        """
        if measure not in MEASURES:
            raise InputError([Fault("compare", "measure", f"none is named {measure!r}", ", ".join(MEASURES),
                                    near_match(measure, MEASURES))])
        results = self.comparison.results
        rows = pd.Index(results[0].tally.replications, name="replication")
        return pd.DataFrame({r.name: r.values(measure) for r in results}, index=rows)

    def differences_frame(self) -> pd.DataFrame:
        """Return the paired differences, one row a pair and measure, a minus b."""
        return pd.DataFrame([dict(d) for d in self.comparison.differences])

    @property
    def plot(self) -> Plots:
        """Figures on one's own axes."""
        return Plots(self.comparison)


@dataclass(frozen=True)
class Plots:
    """Figures of a comparison; each takes axes, or makes some, and returns them."""

    comparison: Comparison

    def cost(self, ax: Axes | None = None) -> Axes:
        """Draw a year's cost: thick the interval of the mean, thin eight years of ten with prices in."""
        axes = _axes(ax)
        rows = alternative_rows(self.comparison)
        for i, row in enumerate(rows):
            net = row["net_cost_usd"]
            if net["p10"] is not None:
                axes.plot([net["p10"], net["p90"]], [i, i], color="0.4", linewidth=1.0)
            if net["low"] is not None:
                axes.plot([net["low"], net["high"]], [i, i], color="0.1", linewidth=4.0)
            axes.plot(net["mean"], i, "o", color="0.1")
        _named(axes, [row["name"] for row in rows])
        axes.set_xlabel("dollars a year, all trips done")
        return axes

    def trade_off(self, ax: Axes | None = None) -> Axes:
        """Draw hours of all travellers against dollars a year; what nothing beats is joined by a line."""
        axes = _axes(ax)
        rows = alternative_rows(self.comparison)
        for row in rows:
            x, y = row["compared_hours"]["mean"], row["net_cost_usd"]["mean"]
            axes.plot(x, y, "o", color="0.2")
            axes.annotate(row["name"], (x, y), textcoords="offset points", xytext=(5, 5), fontsize=8)
        other = self.comparison.alternatives
        if other is not None:
            best = [step["name"] for step in other.efficient()]
            line = [(r["compared_hours"]["mean"], r["net_cost_usd"]["mean"]) for r in rows if r["name"] in best]
            axes.plot(*zip(*sorted(line), strict=True), color="0.6", linewidth=1.0)
        axes.set_xlabel("hours of all travellers a year, on trips that nobody gives up")
        axes.set_ylabel("dollars a year, all trips done")
        return axes

    def trips(self, ax: Axes | None = None) -> Axes:
        """Draw trips made that were faster, as long and slower than otherwise, and those not made."""
        axes = _axes(ax)
        parts = (("trips_faster", "faster"), ("trips_equal", "as long"), ("trips_slower", "slower"),
                 ("trips_by_other_means", "by other means"), ("trips_given_up", "given up"))
        left = [0.0] * len(self.comparison.results)
        for shade, (key, label) in enumerate(parts):
            width = [r.measures[key]["mean"] or 0.0 for r in self.comparison.results]
            axes.barh(range(len(width)), width, left=left, color=str(0.25 + 0.15 * shade), label=label)
            left = [a + b for a, b in zip(left, width, strict=True)]
        _named(axes, list(self.comparison.names))
        axes.set_xlabel("trips a year")
        axes.legend()
        return axes


def _axes(ax: Axes | None) -> Axes:
    return Figure().add_subplot() if ax is None else ax


def _named(axes: Axes, names: Sequence[str]) -> None:
    axes.set_yticks(range(len(names)), list(names))
    axes.invert_yaxis()
