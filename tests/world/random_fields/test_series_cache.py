"""Series of places: the same in whatever order they are asked for, and room only for those asked for."""

from __future__ import annotations

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from missionsim.world.random_fields.series_cache import PlaceRows

PLACES, LENGTH = 200, 7


def series(place):
    return np.arange(LENGTH) + 100.0 * place


@given(st.lists(st.lists(st.tuples(st.integers(0, PLACES - 1), st.integers(0, LENGTH - 1)), max_size=90), max_size=4))
def test_each_place_is_drawn_once_and_gives_its_own_values(asked):
    drawn = []

    def draw(places):
        drawn.extend(places.tolist())
        return (series(p) for p in places.tolist())

    rows = PlaceRows(PLACES, LENGTH, draw)
    for pairs in asked:
        place, step = (np.array([p[i] for p in pairs], dtype=np.int64) for i in (0, 1))
        assert rows.at(place, step).tolist() == [series(p)[s] for p, s in pairs]
    whole = np.array(sorted({p for pairs in asked for p, _ in pairs}), dtype=np.int64)
    assert np.array_equal(rows.of(whole), np.array([series(p) for p in whole]).reshape(-1, LENGTH))
    assert sorted(drawn) == whole.tolist()
