"""Which trips of a wish list are really wanted when the day comes: fewer than one means to make, the same for all."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from missionsim.base.arrays import Bools, Floats, Ints
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import skewed_quantile
from missionsim.base.streams import uniforms
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
    shares = np.array(wanted_shares(study.assumptions, study.seed, replications))
    every = wanted_trips(prepared.schedule.must_go, shares[:, None], study.seed, np.array(replications)[:, None],
                         1 + year)
    return [frozenset(np.flatnonzero(~wanted).tolist()) for wanted in every]


def wanted_shares(assumptions: Assumptions, seed: int, replications: Sequence[int], *address: int) -> list[float]:
    """Return the share of the trips one means to make that is really wanted, as drawn for replications.

    Parameters
    ----------
    assumptions : Assumptions        `trip.wanted_share`.
    seed : int                       Of the study.
    replications : sequence of int
    address : int                    Of the person, where several share an aircraft.
    """
    ranks = uniforms(seed, np.array(replications, dtype=np.int64), Stream.WANTED, 0, *address)[:, 0]
    shares = skewed_quantile(ranks, *low_likely_high(assumptions, "trip.wanted_share"))
    return [min(share, 1.0) for share in shares.tolist()]


def wanted_trips(must_go: Bools, share: float | Floats, seed: int, replication: int | Ints, *address: int) -> Bools:
    """Return which trips are wanted, by row; of several replications [replication, row].

    Parameters
    ----------
    must_go : (t,) bool array                Always wanted.
    share : float or (r, 1) array            Of the others.
    seed : int
    replication : int or (r, 1) int array
    address : int                            Of the year, not 0, and of the person.
    """
    rank = uniforms(seed, replication, Stream.WANTED, *address, np.arange(len(must_go)))
    rank = rank.reshape(*np.shape(share)[:-1], len(must_go))
    return np.asarray(must_go | (rank < share), dtype=bool)
