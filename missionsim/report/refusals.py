"""Trips not made over all years, as table, file and lines."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from typing import Any

import pandas as pd

from missionsim.base.parallel import Helpers
from missionsim.report.looked_again import LookedAgain
from missionsim.report.wording import count, listing
from missionsim.study.compare.compare import Comparison
from missionsim.study.explain.refusals import RefusedTrip, refuse_too
from missionsim.year.trips import Trip

COLUMNS = ("candidate", "trip_id", "years_wanted", "not_made", "never_left", "not_made_share", "reason",
           "share_of_years", "typical_margin", "worst_margin", "unit", "years_judged", "change", "change_amount",
           "change_unit", "told")


def with_refusals(comparison: Comparison) -> Comparison:
    """Return the comparison with every trip not made told over all years; a few years are flown again for that."""
    if comparison.refusals is not None:
        return comparison
    with Helpers(comparison.prepared) as alone:
        again = LookedAgain(alone, comparison.prepared, comparison.replications)
        again.flown([r.tally for r in comparison.results])
        return again.told_of(comparison)


def refusal_entry(found: RefusedTrip) -> Mapping[str, Any]:
    """Return one trip and candidate as plain data, under the keys of the printed object."""
    entry = asdict(found) | {"share": found.share, "told": found.told}
    entry["reasons"] = [{"reason": str(r.reason), "share": r.share} for r in found.reasons]
    entry["change"] = asdict(found.change) | {"also": [str(r) for r in found.change.also]}
    entry["margins"] = [asdict(m) | {"reason": str(m.reason)} for m in found.margins]
    return entry


def refusals_frame(comparison: Comparison) -> pd.DataFrame:
    """Return a row a trip, candidate and reason."""
    rows = []
    for x in comparison.refusals or ():
        margins = {m.reason: m for m in x.margins}
        for r in x.reasons:
            m = margins.get(r.reason)
            rows.append((x.candidate, x.trip_id, x.years_wanted, x.not_made, x.never_left, x.share, str(r.reason),
                         r.share, *((float("nan"), float("nan"), "") if m is None else (m.typical, m.worst, m.unit)),
                         x.judged, x.change.kind,
                         float("nan") if x.change.amount is None else x.change.amount, x.change.unit, x.told))
    return pd.DataFrame(rows, columns=list(COLUMNS))


def never_made(comparison: Comparison, most: int = 6) -> list[str]:
    """Return lines for trips that candidates never make, the smallest change with it, for a screen.

    Candidates of which the same is told of one trip share its line, whatever else refuses it to each.
    """
    never: dict[tuple[int, str], list[RefusedTrip]] = {}
    for x in comparison.refusals or ():
        if x.not_made == x.years_wanted:
            never.setdefault((x.trip, x.told.removesuffix(refuse_too(x.change.also))), []).append(x)
    trips = comparison.prepared.table
    lines = [f"{trip_title(trips[k])} ({trips[k].trip_id}), {listing([x.candidate for x in found])}: {told}"
             f"{_refuse_each(found)}." for (k, told), found in [*never.items()][:most]]
    more = sum(len(found) for found in [*never.values()][most:])
    rest = f"More trips that a candidate never makes, {count(more, 'case')}: see refusals.csv."
    return [*lines, *([rest] if more else [])]


def _refuse_each(found: Sequence[RefusedTrip]) -> str:
    every = {x.change.also for x in found}
    return refuse_too({r for also in every for r in also}, "and" if len(every) == 1 else "or")


def trip_title(trip: Trip) -> str:
    """Return a trip's day and what it is for, else where it goes."""
    return f"{trip.departs_local[0]:%d %b} {trip.purpose or f'to {trip.destinations[0]}'}"
