"""Fields joined by straight lines: reading many pairs by place gives the bits of reading few pair by pair."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.world.random_fields import interpolated_field
from missionsim.world.random_fields.autoregression import SPAN
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.interpolated_field import InterpolatedField, Reading
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


def test_between_two_steps_it_is_straight_and_keeps_its_variance():
    own = field()
    rows = np.full((SPAN, own.drawn.columns), 2.0, dtype=np.float32)
    at_step, between = Reading.of(own, np.array([0, 0]), np.array([30, 31])).read(rows)
    # A third of the way on: (2/3, 1/3), over the spread of that sum where steps correlate by phi.
    spread = np.sqrt(4.0 / 9.0 + 1.0 / 9.0 + 4.0 / 9.0 * np.exp(-3.0 / 40.0))
    assert between == pytest.approx(at_step / spread, rel=1e-6)
