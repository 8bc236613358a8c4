from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.short_rows import any_in_row, least_in_row


@pytest.mark.parametrize("shape", [(0, 3), (5, 1), (40, 6), (4, 7, 3)])
def test_rows_are_reduced_as_numpy_does_it(shape, rng):
    values = rng.normal(size=shape).astype(np.float32)
    assert (least_in_row(values) == values.min(axis=-1)).all()
    assert least_in_row(values).dtype == np.float32
    assert (any_in_row(values > 1.0) == (values > 1.0).any(axis=-1)).all()


def test_nothing_is_true_in_rows_without_columns_and_what_is_reduced_stays():
    assert any_in_row(np.zeros((3, 0), dtype=bool)).tolist() == [False, False, False]
    values = np.array([[2.0, 1.0]])
    least_in_row(values)
    assert values.tolist() == [[2.0, 1.0]]
