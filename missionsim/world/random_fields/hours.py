"""The hours that weather is simulated in, and which of them a time falls into."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Ints

START_H = -72.0
"""Simulated weather begins three days before the year. [h]"""
NEW_YEAR_INDEX = 72
"""Index of the first hour of the year."""
HOURS = NEW_YEAR_INDEX + 366 * 24 + 21 * 24
"""Hours simulated, to three weeks after a leap year."""


def hour_index(time_h: ArrayLike) -> Ints:
    """Return the index of the hour that holds a time, which may lie outside the hours simulated.

    Parameters
    ----------
    time_h : array_like   UTC hours since the year began. [h]
    """
    return np.floor(np.asarray(time_h)).astype(np.int64) + NEW_YEAR_INDEX


def start_of_hour_h(index: Any) -> Any:
    """Return when the hours of some indices begin. [h]"""
    return index + START_H
