"""What the answer would be at a given share of a wish list: seven of ten trips, or all of them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.statistics.straight_line import LEAST_POINTS, mean_at
from missionsim.study.compare.alternatives import NONE, Alternatives
from missionsim.study.compare.ownership import batch_means
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.tally import Tally
from missionsim.year.trips import WISH_LIST

SHARES = (0.7, 1.0)
"""Shares of the trips one means to make at which the result is told."""


def meant_trips(prepared: Prepared) -> float:
    """Return how many trips a year somebody means to make: those of the list, or the mean number generated."""
    study = prepared.study
    return float(len(study.listed)) if study.listed is not None else float(sum(d.per_year for d in study.demand))


def by_share_wanted(prepared: Prepared, tallies: Sequence[Tally], other: Alternatives) -> tuple[Mapping[str, Any], ...]:
    """Return the result at some shares of a wish list; nothing for trips that are all wanted, or from too few years.

    Each replication has its own share, so cost and trips made are read off a straight line in the number of trips
    wanted. Beyond the shares met often, as at all trips, the interval is wider.

    Parameters
    ----------
    prepared : Prepared
    tallies : sequence of Tally   One a candidate.
    other : Alternatives          At the prices of the headline.

    Returns
    -------
    tuple of mapping              `share, trips_wanted, order` (names by cost), `alternatives {kind, name, net_cost_usd,
                                  trips_made, over_not_owning_usd}`, each figure `{mean, low, high}`.
    """
    if prepared.study.trips_are != WISH_LIST:
        return ()
    years = batch_means if prepared.study.spec.years > 1 else np.asarray
    wanted = years(tallies[0].column("trips_wanted"))
    if len(wanted) < LEAST_POINTS or np.ptp(wanted) == 0.0:
        return ()
    flown = [x for x in other.every if not x.estimate]
    none = years(other.none.net_usd)
    costs = {x.name: years(x.net_usd) for x in flown}
    made = {x.name: years(x.made) for x in flown}
    found = []
    for share in SHARES:
        trips = share * meant_trips(prepared)
        rows = [{"kind": x.kind, "name": x.name, "net_cost_usd": _named(wanted, costs[x.name], trips),
                 "trips_made": _named(wanted, made[x.name], trips),
                 "over_not_owning_usd": None if x.kind == NONE else _named(wanted, costs[x.name] - none, trips)}
                for x in flown]
        means = {x.name: mean_at(wanted, costs[x.name], trips)[0] or 0.0 for x in flown}
        found.append({"share": share, "trips_wanted": trips, "order": sorted(means, key=lambda name: means[name]),
                      "alternatives": rows})
    return tuple(found)


def _named(wanted: Array, values: Array, trips: float) -> dict[str, float | None]:
    return dict(zip(("mean", "low", "high"), mean_at(wanted, values, trips), strict=True))
