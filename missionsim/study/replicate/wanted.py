"""Which trips of a wish list are really wanted when the day comes: fewer than one means to make, the same for all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Bools
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import skewed_quantile
from missionsim.base.streams import generator, generators
from missionsim.base.words import Stream
from missionsim.money.prices import low_likely_high
from missionsim.study.prepare.study import Prepared
from missionsim.year.trips import WISH_LIST


def not_wanted(prepared: Prepared, replications: Sequence[int], year: int = 0) -> list[frozenset[int]]:
    """Return the rows of trips that nobody wants in a year, by replication: none where all trips listed are wanted.

    The share wanted is a habit, one draw a replication; whether a trip is among them is drawn for each by itself. Who
    must go always wants to.

    Parameters
    ----------
    prepared : Prepared
    replications : sequence of int
    year : int                       Of an ownership; its habit stays, the trips differ.
    """
    study = prepared.study
    if study.trips_are != WISH_LIST:
        return [frozenset()] * len(replications)
    shares = wanted_shares(study.assumptions, study.seed, replications)
    return [frozenset(np.flatnonzero(~wanted_trips(prepared.schedule.must_go, share, study.seed, replication, 1 + year)
                                     ).tolist())
            for replication, share in zip(replications, shares, strict=True)]


def wanted_shares(assumptions: Assumptions, seed: int, replications: Sequence[int], *address: int) -> list[float]:
    """Return the share of the trips one means to make that is really wanted, as drawn for replications.

    Parameters
    ----------
    assumptions : Assumptions        `trip.wanted_share`.
    seed : int                       Of the study.
    replications : sequence of int
    address : int                    Of the person, where several share an aircraft.
    """
    ranks = np.array([generator(seed, r, Stream.WANTED, 0, *address).random() for r in replications])
    shares = skewed_quantile(ranks, *low_likely_high(assumptions, "trip.wanted_share"))
    return [min(share, 1.0) for share in shares.tolist()]


def wanted_trips(must_go: Bools, share: float, seed: int, replication: int, *address: int) -> Bools:
    """Return which trips are wanted, by row.

    Parameters
    ----------
    must_go : (t,) bool array   Always wanted.
    share : float               Of the others.
    seed, replication : int
    address : int               Of the year, not 0, and of the person.
    """
    if not len(must_go):
        return np.zeros(0, dtype=bool)
    streams = generators(seed, replication, Stream.WANTED, *address, np.arange(len(must_go)))
    rank = np.array([stream.random() for stream in streams])
    return np.asarray(must_go | (rank < share), dtype=bool)
