"""Reductions of arrays whose last axis is short: a few levels, a few runway ends.

numpy reduces a short last axis one row at a time; column by column takes a fifth to a tenth of the time.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from missionsim.base.arrays import Array, Bools


def any_in_row(values: Bools) -> Bools:
    """Return `values.any(axis=-1)`."""
    return _over_columns(np.logical_or, values) if values.shape[-1] else np.zeros(values.shape[:-1], dtype=bool)


def least_in_row(values: Array) -> Array:
    """Return `values.min(axis=-1)`; there is at least one column."""
    return _over_columns(np.minimum, values)


def _over_columns(combine: Callable[..., Array], values: Array) -> Array:
    out = values[..., 0].copy()
    for k in range(1, values.shape[-1]):
        combine(out, values[..., k], out=out)
    return out
