"""Weights of people and bags: the same for all candidates, drawn once per person, trip and replication."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.year.trips import TripTable

MOST_DEVIATIONS = 2.5
"""Weights farther from the mean than this are drawn as this far."""


def nominal_people_lb(table: TripTable, pilot: Pilot, assumptions: Assumptions) -> tuple[Array, Array]:
    """Return weights of people [trip, seat], the pilot first, and of bags [trip], everybody at the mean."""
    width = max((trip.people for trip in table), default=1)
    people_lb = np.zeros((len(table), width))
    for k, trip in enumerate(table):
        people_lb[k, :trip.adults] = assumptions["year.adult_weight_lb"]
        people_lb[k, trip.adults:trip.people] = assumptions["year.child_weight_lb"]
    people_lb[:, 0] = pilot_figure(pilot, "weight_lb", assumptions)
    bags_lb = np.array([trip.bags_lb for trip in table], dtype=float) + pilot_figure(pilot, "gear_lb", assumptions)
    return people_lb, bags_lb


def drawn_people_lb(nominal_lb: Array, table: TripTable, assumptions: Assumptions, seed: int,
                    replications: Sequence[int]) -> Array:
    """Return weights with everybody but the pilot drawn: normal, cut at `MOST_DEVIATIONS`; (replication, trip, seat).

    Parameters
    ----------
    nominal_lb : (trip, seat) array   Likely weights. [lb]
    table : TripTable                 Of the trips.
    assumptions : Assumptions
    seed : int                        Of the study.
    replications : sequence of int
    """
    people = np.array([trip.people for trip in table], dtype=np.int64)
    adults = np.array([trip.adults for trip in table], dtype=np.int64)
    parties = np.flatnonzero(people > 1)
    normal = np.zeros((len(replications), *nominal_lb.shape))
    own = [(year, row, count) for year in range(len(replications))
           for row, count in zip(parties.tolist(), people[parties].tolist(), strict=True)]
    randoms = generators(seed, np.array(replications, dtype=np.int64)[:, None], Stream.PEOPLE, parties)
    for (year, row, count), random in zip(own, randoms, strict=True):
        random.standard_normal(out=normal[year, row, 1:count])
    grown_up = np.arange(nominal_lb.shape[1]) < adults[:, None]
    spread_lb = np.where(grown_up, assumptions["year.adult_spread_lb"], assumptions["year.child_spread_lb"])
    return nominal_lb + spread_lb * np.clip(normal, -MOST_DEVIATIONS, MOST_DEVIATIONS)
