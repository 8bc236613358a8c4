"""Fields joined by straight lines: reading many pairs by place gives the bits of reading few pair by pair."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields import interpolated_field
from missionsim.world.random_fields.autoregression import SPAN
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.interpolated_field import InterpolatedField, Reading, drawn_together, streams_of
from missionsim.world.random_fields.knots import Knots


def field(step_h=3):
    lat, lon = np.array([40.97, 41.3, 39.1]), np.array([-98.3, -95.9, -94.6])
    return InterpolatedField(Knots.of(300.0, lat, lon), step_h, 40.0)


def test_very_many_pairs_read_by_place_have_the_bits_of_few(monkeypatch):
    random, own = np.random.default_rng(2), field()
    row, hour = random.integers(0, 3, 400), random.integers(0, HOURS, 400)
    rows = random.standard_normal((SPAN, own.drawn.columns)).astype(np.float32)
    few = Reading.of(own, row, hour)
    monkeypatch.setattr(interpolated_field, "MANY_PAIRS", 0)
    many = Reading.of(own, row, hour)
    assert few.place is None
    assert many.place is not None
    assert many.at.shape[1] == 3
    assert np.array_equal(few.read(rows), many.read(rows))


def test_fields_drawn_together_are_those_drawn_alone():
    fields, random = [field(6), field(3), field(3)], np.random.default_rng(3)
    row, hour = random.integers(0, 3, 200), random.integers(0, HOURS, 200)
    streams = streams_of(fields, Stream.TEMPERATURE)
    together = drawn_together(fields, streams.randoms(5, 6))
    for number, (own, rows) in enumerate(zip(fields, together, strict=True)):
        alone = own.drawn.draw(generators(5, 6, Stream.TEMPERATURE, number, own.knots.ids))
        np.testing.assert_array_equal(Reading.of(own, row, hour, fields).read(rows),
                                      Reading.of(own, row, hour).read(alone))


def test_between_two_steps_it_is_straight_and_keeps_its_variance():
    own = field()
    rows = np.full((SPAN, own.drawn.columns), 2.0, dtype=np.float32)
    at_step, between = Reading.of(own, np.array([0, 0]), np.array([30, 31])).read(rows)
    # A third of the way on: (2/3, 1/3), over the spread of that sum where steps correlate by phi.
    spread = np.sqrt(4.0 / 9.0 + 1.0 / 9.0 + 4.0 / 9.0 * np.exp(-3.0 / 40.0))
    assert between == pytest.approx(at_step / spread, rel=1e-6)
