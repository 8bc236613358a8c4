"""Ceiling and visibility at single places: the same hours, to the bit, that pairs of place and hour read."""

from functools import cache
from types import SimpleNamespace

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.base.assumptions import packaged_assumptions
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.place_spans import SPAN_H, PlaceSpans
from missionsim.world.surface.year import SurfaceYear

LAT, LON = [40.97, 41.79, 47.45, 27.97, 46.84], [-98.31, -87.75, -122.31, -82.53, -92.19]
PAIRS = st.lists(st.tuples(st.integers(0, len(LAT) - 1), st.integers(0, HOURS - 1)), min_size=1, max_size=9)


@cache
def climate():
    return SurfaceClimate.build(LAT, LON, [1847.0, 620.0, 433.0, 26.0, 1428.0], list("abcde"), packaged_assumptions())


@cache
def year(number):
    return SurfaceYear.simulate(climate(), 5, number)


@settings(max_examples=60)
@given(number=st.integers(0, 2), pairs=PAIRS)
def test_hours_in_a_row_have_the_bits_of_each_read_by_itself(number, pairs):
    field, place, hour = year(number).field, *np.array(pairs).T
    first = hour // SPAN_H * SPAN_H
    every = first + np.arange(SPAN_H)[:, None]
    assert field.hours(place, first, SPAN_H).tobytes() == field.value(place, every).tobytes()


@settings(max_examples=60)
@given(number=st.integers(0, 2), pairs=PAIRS, together=st.booleans())
def test_below_minima_as_pairs_say_whether_read_together_or_one_by_one(number, pairs, together):
    limits = climate().thresholds(3000.0, 8.0)
    spans = PlaceSpans(climate(), year(number).field)
    if together:
        spans.read(pairs)
    place, hour = np.array(pairs).T
    assert [spans.below(limits, *pair) for pair in pairs] == year(number).below(limits, place, hour).tolist()


def test_what_was_looked_at_is_not_read_again():
    asked = []

    def hours(place, hour, count):
        asked.append((place.tolist(), hour.tolist(), count))
        return np.zeros((count, len(place)), dtype=np.float32)

    spans = PlaceSpans(climate(), SimpleNamespace(hours=hours))
    limits = np.ones((len(LAT), 12, 8), dtype=np.float32)
    spans.read([(2, SPAN_H + 3), (2, SPAN_H + 4)])
    assert spans.below(limits, 2, SPAN_H)
    spans.read([(2, SPAN_H + 1), (4, 3)])
    assert asked == [([2], [SPAN_H], SPAN_H), ([4], [0], SPAN_H)]
