"""What a comparison adds on request, each with simulated years of its own: upgrades, tipping points, rent or own."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.parallel import Progress
from missionsim.statistics.crossings import crossing
from missionsim.study.compare.compare import Comparison, flown_tallies
from missionsim.study.compare.measures import values_of
from missionsim.study.compare.recost import Recosted
from missionsim.study.compare.rent_or_own import rent_or_own
from missionsim.study.compare.sensitivity import Tipping
from missionsim.study.compare.variants import REPLICATIONS, annual_months, upgrades
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import prepare

MORE_PEOPLE = 2
"""Adults added to every trip, at most, where party size is looked at."""
MONTHS_REPLICATIONS = 20


def with_upgrades(found: Comparison, replications: int = REPLICATIONS, workers: int = 1,
                  progress: Progress | None = None) -> Comparison:
    """Return the comparison with every upgrade flown on every candidate, and trips by the month of the annual.

    Parameters
    ----------
    found : Comparison              A finished comparison.
    replications : int              How many.
    workers : int                   Processes.
    progress : Progress, optional   Told of each finished chunk.
    """
    months = annual_months(found.study, min(replications, MONTHS_REPLICATIONS))
    return replace(found, upgrades=upgrades(found.study, replications, workers, progress), annual_months=months)


def with_tipping(found: Comparison, replications: int = REPLICATIONS, workers: int = 1,
                 progress: Progress | None = None) -> Comparison:
    """Return the comparison with rent or own, and with the party size of a changed choice, flown with more people.

    Arguments as for `with_upgrades`.
    """
    recosted = Recosted(found.prepared, [r.tally for r in found.results])
    serving = [i for i, r in enumerate(found.results) if r.does_the_job != "no"]
    flown = () if found.study.listed is None else party_size(found.study, replications, workers, progress, serving)
    kept = [t for t in found.tipping_points or () if not flown or t["variable"] != "party_size"]
    return replace(found, rent_or_own=rent_or_own(recosted), tipping_points=(*kept, *flown))


def party_size(study: Study, replications: int = REPLICATIONS, workers: int = 1, progress: Progress | None = None,
               serving: Sequence[int] = ()) -> tuple[Mapping[str, Any], ...]:
    """Return the mean party size at which the cheapest changes hands: every trip flown with one and two adults more.

    Between the sizes flown, each replication's costs are taken to run straight.

    Parameters
    ----------
    study : Study
    replications : int              How many.
    workers : int                   Processes.
    progress : Progress, optional   Told of each finished chunk.
    serving : sequence of int       Candidates one chooses among; all where left out.
    """
    table = study.listed
    if table is None:
        return ()
    costs, size = [], []
    for more in range(MORE_PEOPLE + 1):
        trips = tuple(replace(t, adults=t.adults + more) for t in table)
        own = replace(study, listed=replace(table, trips=trips), spec=study.spec.model_copy(update={"years": 1}))
        tallies = flown_tallies(prepare(own), replications, workers, 0, progress)
        costs.append(np.stack([values_of(t, "net_cost_usd") for t in tallies]))
        size.append(float(np.mean([t.people for t in trips])))
    rows = list(serving) or list(range(len(study.candidates)))
    return _changes([study.candidates[i].name for i in rows], np.array(size), np.stack(costs)[:, rows])


def _changes(names: Sequence[str], size: Array, costs: Array) -> tuple[Mapping[str, Any], ...]:
    """Return changes of hands between sizes flown, today's first; `costs` [size, candidate, replication]."""
    found = []
    means = costs.mean(axis=2)
    for k in range(len(size) - 1):
        i, j = int(np.argmin(means[k])), int(np.argmin(means[k + 1]))
        if i == j:
            continue

        def difference(value: float, k: int = k, i: int = i, j: int = j) -> Array:
            share = (value - size[k]) / (size[k + 1] - size[k])
            here, then = (costs[m, i] - costs[m, j] for m in (k, k + 1))
            return np.asarray(here + share * (then - here))

        point = crossing(difference, float(size[k]), float(size[k + 1]), 0.005)
        if point is not None:
            found.append(Tipping("party_size", "people, mean of all trips", point.at, point.low, point.high, names[i],
                                 names[j], "flown again with one and two adults more on every trip",
                                 today=float(size[0])).entry())
    return tuple(found)
