"""Load against distance, by hand and against the figure of the report."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.report.draw_ground import edge_of_one_flight, load_over, trip_loads
from missionsim.report.reach import _of, reaches


def test_the_most_load_over_a_distance_is_read_off_the_edge():
    edge = np.array([100.0, 400.0, 700.0, 700.0]), np.array([1_000.0, 800.0, 300.0, 0.0])
    assert [load_over(edge, nm) for nm in (50.0, 100.0, 150.0, 700.0, 701.0)] == [1_000.0, 1_000.0, 800.0, 300.0, 0.0]


@pytest.mark.parametrize(("fits", "words"), [([True, True], "all 2 trips lie within"),
                                             ([True, False, False], "2 trips of 3 need a stop or less load")])
def test_how_many_trips_lie_within(fits, words):
    assert _of(fits) == words


def test_every_trip_is_a_dot_once(comparison):
    distance_nm, load_lb = trip_loads(comparison.prepared)
    for i, drawn in enumerate(reaches(comparison.prepared)):
        edge = edge_of_one_flight(comparison.prepared, i)
        within = sum(lb <= load_over(edge, nm) for nm, lb in zip(distance_nm, load_lb, strict=True))
        assert (len(drawn.within), len(drawn.beyond)) == (within, len(load_lb) - within)
        assert all(drawn.left <= x <= drawn.width and 0 <= y <= drawn.height for x, y in drawn.within)
