"""When enough years are flown: as soon as what one chooses by is known as narrowly as asked."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.errors import ValidityError
from missionsim.statistics.intervals import exact_mean, half_width, standard_error
from missionsim.study.compare.ownership import batch_means
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.one_year import CHUNK
from missionsim.study.replicate.tally import Tally


@dataclass(frozen=True, slots=True)
class Stopping:
    """How the number of simulated years was found, where a width was asked for.

    Parameters
    ----------
    measure : str              `net_cost_usd`, a year.
    within_usd : float         Half width asked for, of the 95 % interval of every mean difference to the leader.
    reached_usd : float        Widest half width reached; None where too few years leave it unknown.
    first, limit : int         Years flown at least before a width counts, and at most.
    replications : int         Years flown.
    enough : bool              Whether the width was reached; else the limit came first.
    alone : bool               A single candidate has no rival: the width is that of its own mean.
    """

    measure: str
    within_usd: float
    reached_usd: float | None
    first: int
    limit: int
    replications: int
    enough: bool
    alone: bool = False


def most_replications(study: Study, replications: int | None, within_usd: float | None) -> int:
    """Return how many years are flown at most: as asked, else the study's number, or a wide limit with a width."""
    if replications:
        return replications
    return study.replications if within_usd is None else int(study.assumptions["statistics.within_most_replications"])


class Watch:
    """Looks at the costs of every finished chunk and tells when the years are enough.

    Looking at ends of chunks only keeps the looks few and the answer the same for any number of workers. Stopping at
    the first narrow look makes intervals somewhat too narrow; the least number of years holds that small.

    Raises
    ------
    ValidityError   If the width is not a finite number above 0.

    References
    ----------
    .. [1] A. M. Law, Simulation Modeling and Analysis, chapter on output analysis, sequential procedure for an absolute
       error, here of paired differences (from memory).
    """

    def __init__(self, prepared: Prepared, within_usd: float, limit: int) -> None:
        if not (math.isfinite(within_usd) and within_usd > 0.0):
            raise ValidityError(f"compare: within_usd is {within_usd:g}; accepted: a finite number above 0")
        a = prepared.study.assumptions
        self.prepared, self.within_usd, self.limit = prepared, float(within_usd), limit
        self.several_years = prepared.study.spec.years > 1
        self.first = (CHUNK * int(a["statistics.within_first_batches"]) if self.several_years
                      else int(a["statistics.within_first_replications"]))
        self.costs: list[Array] = []

    def enough(self, chunk: Sequence[Tally]) -> bool:
        """Take note of a chunk, one tally a candidate, and tell whether the years so far are enough."""
        self.costs.append(np.stack([part.column("net_cost_cents") / 100.0 for part in chunk]))
        return self.stopping().enough

    def stopping(self) -> Stopping:
        """Return where things stand."""
        costs = np.concatenate(self.costs, axis=1)
        count = costs.shape[1]
        if self.several_years:  # ownerships of a chunk share years of weather
            costs = np.stack([batch_means(row) for row in costs])
        reached = widest_usd(costs)
        enough = reached is not None and count >= self.first and reached <= self.within_usd
        return Stopping("net_cost_usd", self.within_usd, reached, self.first, self.limit, count, enough,
                        len(costs) == 1)


def widest_usd(costs: Array) -> float | None:
    """Return the widest half width of the 95 % intervals of mean differences to the cheapest, paired by replication.

    Parameters
    ----------
    costs : (candidates, n) array   A single candidate is held against nothing: the half width of its own mean.

    Returns
    -------
    float                           None from fewer than two replications. [usd]
    """
    if costs.shape[1] < 2:
        return None
    lead = int(np.argmin([exact_mean(row) for row in costs]))
    rows = [row - costs[lead] for i, row in enumerate(costs) if i != lead] or [costs[lead]]
    return max(half_width(standard_error(row), len(row)) for row in rows)
