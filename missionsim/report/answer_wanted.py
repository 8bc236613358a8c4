"""What the answer says of a wish list: how much of it is really wanted, and the result at seven of ten trips."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from missionsim.report.verdict import hours_in_both
from missionsim.report.wording import dollars, number, start, the
from missionsim.statistics.intervals import exact_mean
from missionsim.study.compare.alternatives import OWN
from missionsim.study.compare.compare import Comparison
from missionsim.study.compare.share_wanted import meant_trips
from missionsim.year.trips import WISH_LIST


def wanted_sentence(comparison: Comparison) -> str:
    """Return how many of the trips of a wish list are wanted in a mean year; empty where all are."""
    if comparison.study.trips_are != WISH_LIST:
        return ""
    entry = comparison.study.assumptions.entry("trip.wanted_share")
    wanted = exact_mean(comparison.results[0].tally.column("trips_wanted"))
    whose = "the list" if comparison.study.listed is not None else "the kinds of trips given"
    return (f"Of the {number(meant_trips(comparison.prepared), 0)} trips a year of {whose}, taken as a wish list, "
            f"{number(wanted, 0)} are really wanted in the mean year: people make {_tenths(entry.low)} to "
            f"{_tenths(entry.high)} of 10 that they mean to make. Of a logbook all count as wanted.")


def _tenths(share: float) -> str:
    return f"{10.0 * share:.3g}"


def at_shares(comparison: Comparison) -> str:
    """Return the result at seven of ten trips and at all; empty for trips that are all wanted, or from few years."""
    found = comparison.by_share_wanted
    if not found:
        return ""
    told = [_at(comparison, entry) for entry in found]
    orders = {tuple(n for n in entry["order"] if n in comparison.names)[:1] for entry in found}
    same = "" if len(comparison.names) < 2 else (
        " The cheapest candidate is the same at both." if len(orders) == 1 else
        " The cheapest candidate is not the same at both: " + ", ".join(
            f"{the(next(n for n in e['order'] if n in comparison.names))} at {_words(e)}" for e in found) + ".")
    return f"{start('; '.join(told))}{hours_in_both(comparison)}.{same}"


def _at(comparison: Comparison, entry: Mapping[str, Any]) -> str:
    name = comparison.names[comparison.lead]
    row = next(x for x in entry["alternatives"] if x["kind"] == OWN and x["name"] == name)
    over = row["over_not_owning_usd"]["mean"]
    more = "more" if over >= 0.0 else "less"
    return (f"at {_words(entry)} ({number(entry['trips_wanted'], 0)}) {the(name)} makes "
            f"{number(row['trips_made']['mean'], 0)} and the year costs {dollars(row['net_cost_usd']['mean'])} dollars"
            f"{_span(row['net_cost_usd'])}, {dollars(abs(over))} {more} than having no aircraft")


def _span(found: Mapping[str, float | None]) -> str:
    if found["low"] is None or found["high"] is None:
        return ""
    return f" ({dollars(found['low'])} to {dollars(found['high'])})"


def _words(entry: Mapping[str, Any]) -> str:
    return "all trips of it" if entry["share"] == 1.0 else f"{10.0 * entry['share']:g} of 10 trips"
