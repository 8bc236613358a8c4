"""Weights of people and bags: the same for all candidates, drawn once per person, trip and replication."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.study.models import Pilot
from missionsim.study.pilot import own
from missionsim.year.trips import TripTable

Array = NDArray[Any]


def nominal_people_lb(table: TripTable, pilot: Pilot, assumptions: Assumptions) -> tuple[Array, Array]:
    """Return weights of people [trip, seat], the pilot first, and of bags [trip], everybody at the mean."""
    width = max((trip.people for trip in table), default=1)
    people_lb = np.zeros((len(table), width))
    for k, trip in enumerate(table):
        people_lb[k, :trip.adults] = assumptions["year.adult_weight_lb"]
        people_lb[k, trip.adults:trip.people] = assumptions["year.child_weight_lb"]
    people_lb[:, 0] = own(pilot, "weight_lb", assumptions)
    bags_lb = np.array([trip.bags_lb for trip in table], dtype=float) + own(pilot, "gear_lb", assumptions)
    return people_lb, bags_lb


def drawn_people_lb(nominal_lb: Array, table: TripTable, assumptions: Assumptions, seed: int, replication: int,
                    ) -> Array:
    """Return weights with everybody but the pilot drawn: normal, cut at two and a half deviations."""
    out = nominal_lb.copy()
    a = assumptions
    for k, trip in enumerate(table):
        if trip.people > 1:
            random = generator(seed, replication, Stream.PEOPLE, k)
            spread = np.where(np.arange(1, trip.people) < trip.adults, a["year.adult_spread_lb"],
                              a["year.child_spread_lb"])
            out[k, 1:trip.people] += spread * np.clip(random.standard_normal(trip.people - 1), -2.5, 2.5)
    return out
