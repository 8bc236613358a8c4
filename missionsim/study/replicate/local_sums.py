"""Local flying of each replication, and trips with passengers begun without three recent landings."""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Array, Columns, Ints
from missionsim.base.words import Outcome, Purpose

LOCAL_MEASURES = ("local_hours", "local_block_hours", "local_fuel_gal", "trips_not_current")
RECENT_H, LANDINGS = 90 * 24.0, 3
"""Within so many hours so many take-offs and landings are wanted of who carries passengers: 14 CFR 61.57(a)."""


def local_sums(flights: Columns, trips: Columns, replications: Ints, landings_each: int) -> list[Array]:
    """Return flight and block hours and fuel of local flying, and trips begun without recent experience.

    Parameters
    ----------
    flights, trips : mapping         Columns named as in `FlightRow` and `TripRow`.
    replications : (n,) int array    In rising order.
    landings_each : int              Landings of a local flight.

    Returns
    -------
    list of (n,) arrays              Named in `LOCAL_MEASURES`.
    """
    local, n = flights["purpose"] == str(Purpose.LOCAL), len(replications)
    row = np.searchsorted(replications, flights["replication"])
    sums = [np.bincount(row[local], flights[name][local], n) for name in ("flight_h", "block_h", "fuel_burn_gal")]
    return [*sums, _not_current(flights, trips, replications, np.where(local, landings_each, 1))]


def _not_current(flights: Columns, trips: Columns, replications: Ints, landings: Array) -> Array:
    """Count trips with passengers that leave with fewer than three landings of the year in the 90 days before.

    Before the year has run for 90 days nobody knows; the pilot then counts as current.
    """
    asked = (trips["people"] > 1) & (trips["outcome"] != str(Outcome.REFUSED)) & (trips["departed_h"] >= RECENT_H)
    order = np.lexsort((flights["depart_h"], flights["replication"]))
    landed_h = (flights["depart_h"] + flights["block_h"])[order]
    so_far = np.concatenate([[0], np.cumsum(landings[order])])
    first, last = (np.searchsorted(flights["replication"][order], replications, side) for side in ("left", "right"))
    leave_h, left_in = trips["departed_h"][asked], trips["replication"][asked]
    out = np.zeros(len(replications))
    for i, replication in enumerate(replications.tolist()):
        at_h = leave_h[left_in == replication]
        before = (first[i] + np.searchsorted(landed_h[first[i]:last[i]], when_h, side="right")
                  for when_h in (at_h, at_h - RECENT_H))
        done = [so_far[number] for number in before]
        out[i] = np.count_nonzero(done[0] - done[1] < LANDINGS)
    return out
