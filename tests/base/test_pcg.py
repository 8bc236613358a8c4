"""Generators entered far ahead are those that drew everything before, and deviates take the words they are said to."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base import pcg
from missionsim.base.pcg import Jumps, takes_one_word
from missionsim.base.streams import generator, generators
from missionsim.base.words import Stream

STEP = 0x2360ED051FC65DA44385DF649FCCF645


def halves(values):
    """Return numbers of 128 bits as two arrays of 64, the high half first."""
    return tuple(np.array([v >> shift & (1 << 64) - 1 for v in values], dtype=np.uint64) for shift in (64, 0))


def whole(parts):
    """Return the numbers of 128 bits that two halves stand for."""
    return [high << 64 | low for high, low in zip(*(p.tolist() for p in parts), strict=True)]


BIG = st.integers(0, 2**128 - 1)


@given(st.lists(st.tuples(BIG, BIG), min_size=1, max_size=5))
def test_halves_are_added_and_multiplied_as_whole_numbers(pairs):
    a, b = zip(*pairs, strict=True)
    assert whole(pcg._sum(halves(a), halves(b))) == [(x + y) % 2**128 for x, y in pairs]
    assert whole(pcg._product(halves(a), halves(b))) == [x * y % 2**128 for x, y in pairs]


@given(BIG, BIG, st.lists(st.integers(0, 60), max_size=4))
def test_a_jump_is_so_many_single_steps(state, odd, words):
    odd |= 1
    stepped = []
    for count in words:
        value = state
        for _ in range(count):
            value = (value * STEP + odd) % 2**128
        stepped.append(value)
    ahead, other = Jumps.of(words, after_deviate=False).entered(halves([state]), halves([odd]))
    assert whole(ahead) == stepped
    assert not other.any()


def check_entered(words, after_deviate):
    """Hold streams entered together against streams in which what comes before was drawn one by one."""
    jumps = Jumps.of(words, after_deviate)
    for k, random in enumerate(generators(3, 1, Stream.ICING, 7, np.arange(len(words)), jumps=jumps)):
        alone = generator(3, 1, Stream.ICING, 7, k)
        if words[k]:
            if after_deviate:
                alone.standard_normal()
            alone.bit_generator.advance(words[k])
        assert random.bit_generator.state == alone.bit_generator.state


@given(words=st.lists(st.integers(0, 10**6), max_size=40), after_deviate=st.booleans())
def test_streams_are_entered_where_drawing_one_by_one_gets(words, after_deviate):
    check_entered(words, after_deviate)


def test_of_many_streams_those_whose_deviate_took_more_words_are_entered_as_well():
    check_entered([3, 0] * 400, after_deviate=True)


def test_a_deviate_takes_one_word_where_it_is_said_to_and_mostly_it_is():
    sure = taken = 0
    for k in range(20_000):
        random = generator(3, 1, Stream.PEOPLE, k)
        begun, word = random.bit_generator.state["state"], random.bit_generator.random_raw()
        after = random.bit_generator.state["state"]
        assert pcg._first_word(halves([begun["state"]]), halves([begun["inc"]])) == word
        random = generator(3, 1, Stream.PEOPLE, k)
        random.standard_normal()
        one = random.bit_generator.state["state"] == after
        said = bool(takes_one_word(np.array([word], dtype=np.uint64))[0])
        assert one or not said
        sure, taken = sure + said, taken + one
    assert sure >= 0.999 * taken
    assert sure < 20_000    # and not always


def seated_before(word):
    """Return a generator that draws a given word next."""
    bits = np.random.PCG64(0)
    state, odd = bits.state, 1
    # The word is both halves folded; with nothing in the high one it is the low one, not turned.
    state["state"] = {"state": (word - odd) * pow(STEP, -1, 2**128) % 2**128, "inc": odd}
    bits.state = state
    return np.random.Generator(bits)


def test_the_core_of_every_layer_ends_where_numpy_s_does():
    for layer, core in enumerate(pcg._cores().tolist()):
        for share, inside in ((1.0 - 1e-5, core > 0.0), (1.0 + 1e-5, False)):
            word = layer | min(int(core * share), 2**52 - 1) << 9
            assert bool(takes_one_word(np.array([word], dtype=np.uint64))[0]) is inside
            random = seated_before(word)
            random.standard_normal()
            assert (random.bit_generator.state["state"]["state"] == word) is inside


@given(seeds=st.lists(st.integers(0, 2**32 - 1), min_size=1, max_size=4), count=st.integers(1, 6))
def test_words_drawn_at_once_are_those_drawn_one_by_one(seeds, count):
    randoms = [generator(seed, 1, Stream.ENGINE, 7) for seed in seeds]
    begun = [random.bit_generator.state["state"] for random in randoms]
    found = pcg.words_drawn(halves([b["state"] for b in begun]), halves([b["inc"] for b in begun]), count)
    assert found.tolist() == [random.bit_generator.random_raw(count).tolist() for random in randoms]
