"""Addressable random streams: a stream is named by what it is for, never by how many were drawn before."""

from __future__ import annotations

import numpy as np

from missionsim.base.words import Stream


def generator(seed: int, replication: int, stream: Stream, *address: int) -> np.random.Generator:
    """Return the generator of one purpose in one replication.

    Parameters
    ----------
    seed : int            Root seed of the study.
    replication : int     Replication from 0.
    stream : Stream       Purpose.
    address : int         Finer address inside the purpose: a knot, a place, a trip, a person.

    Returns
    -------
    numpy.random.Generator   The same for the same arguments, whatever else was drawn.

    References
    ----------
    .. [1] NumPy manual, "Parallel random number generation", `SeedSequence` with a `spawn_key`.
    """
    sequence = np.random.SeedSequence(seed, spawn_key=(replication, int(stream), *address))
    return np.random.Generator(np.random.PCG64(sequence))
