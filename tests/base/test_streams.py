"""Streams by address: many at once are those made one by one."""

from __future__ import annotations

import pickle

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base import streams
from missionsim.base.pcg import Jumps
from missionsim.base.streams import StreamSet, generator, generators, uniforms
from missionsim.base.words import Stream

WORDS = st.integers(0, 2**32 - 1)


@given(seed=st.integers(0, 2**200), replication=st.integers(0, 2**40), fixed=st.lists(WORDS, max_size=3),
       own=st.lists(st.tuples(WORDS, WORDS), max_size=25))
def test_many_generators_are_seated_as_each_alone(seed, replication, fixed, own):
    columns = np.array(own, dtype=np.int64).reshape(-1, 2).T
    count = 0
    for (a, b), random in zip(own, generators(seed, replication, Stream.ICING, *fixed, *columns), strict=True):
        alone = generator(seed, replication, Stream.ICING, *fixed, a, b)
        assert random.bit_generator.state == alone.bit_generator.state
        assert random.random() == alone.random()
        count += 1
    assert count == len(own)


def test_generators_that_keep_their_state_elsewhere_are_told_it(monkeypatch):
    addresses = np.arange(20)
    expected = [generator(9, 4, Stream.PEOPLE, k).random(3).tolist() for k in addresses.tolist()]
    monkeypatch.setattr(streams, "_CHAIRS", [])
    for kept in (streams._kept_words, lambda bits: (np.zeros(0, dtype=np.uint64), np.zeros(2, dtype=np.uint32))):
        monkeypatch.setattr(streams, "_kept_words", kept)
        streams._CHAIRS.clear()
        assert [r.random(3).tolist() for r in generators(9, 4, Stream.PEOPLE, addresses)] == expected


def test_half_a_word_left_over_is_forgotten_when_the_next_stream_is_seated():
    for k, random in enumerate(generators(9, 4, Stream.PEOPLE, np.arange(20))):
        first = random.random(1, dtype=np.float32)      # takes half a word
        assert first == generator(9, 4, Stream.PEOPLE, k).random(1, dtype=np.float32)


def test_a_stream_is_numpys_own():
    expected = np.random.default_rng(np.random.SeedSequence(9, spawn_key=(4, int(Stream.PEOPLE), 3))).random(5)
    assert (generator(9, 4, Stream.PEOPLE, 3).random(5) == expected).all()
    assert (next(generators(9, 4, Stream.PEOPLE, np.array([3]))).random(5) == expected).all()


@given(seed=st.integers(0, 2**200), replications=st.lists(WORDS, min_size=1, max_size=5), fixed=WORDS,
       own=st.lists(WORDS, max_size=9), count=st.integers(1, 9))
def test_uniforms_of_many_streams_are_those_each_generator_draws(seed, replications, fixed, own, count):
    found = uniforms(seed, np.array(replications)[:, None], Stream.ENGINE, fixed, np.array(own, dtype=np.int64),
                     count=count)
    alone = [generator(seed, r, Stream.ENGINE, fixed, a).random(count) for r in replications for a in own]
    assert found.tolist() == [each.tolist() for each in alone]


def test_streams_of_several_replications_are_seated_together():
    replications = np.arange(20) // 5
    together = generators(9, replications, Stream.PEOPLE, np.arange(20))
    for k, random in enumerate(together):
        assert (random.random(3) == generator(9, k // 5, Stream.PEOPLE, k).random(3)).all()


SETS = st.lists(st.tuples(st.lists(st.tuples(WORDS, WORDS, st.integers(0, 500)), max_size=9), st.integers(0, 2),
                          st.booleans(), st.booleans()), min_size=1, max_size=4)


@given(sets=SETS, asked=st.lists(st.tuples(st.integers(0, 3), st.integers(0, 2**33)), max_size=6))
def test_sets_seated_together_are_seated_as_each_alone_in_any_order(sets, asked):
    every = []
    for number, (own, more, entered, deviate) in enumerate(sets):
        first, second, words = np.array(own, dtype=np.int64).reshape(-1, 3).T
        address = (number, *range(more), first, second)     # addresses of different length, one below the other
        jumps = Jumps.of(words.tolist(), deviate) if entered else None
        every.append((StreamSet(Stream.ICING, *address, jumps=jumps), (Stream.ICING, *address, jumps)))
    StreamSet.seated_together([together for together, _ in every])
    StreamSet.seated_together([together for together, _ in every[1:] or every])     # and some of them anew
    for number, replication in asked:
        together, (stream, *address, jumps) = every[number % len(every)]
        copy = pickle.loads(pickle.dumps(together))
        alone = [random.bit_generator.state for random in generators(7, replication, stream, *address, jumps=jumps)]
        for own in (together, copy):
            assert [random.bit_generator.state for random in own.randoms(7, replication)] == alone
