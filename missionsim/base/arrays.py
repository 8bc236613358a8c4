"""Arrays by what they hold: one word a kind in every signature; shapes stand in docstrings."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[Any]
Floats = NDArray[np.float64]
Floats32 = NDArray[np.float32]
Ints = NDArray[np.int64]
Ints32 = NDArray[np.int32]
Ints16 = NDArray[np.int16]
Ints8 = NDArray[np.int8]
Indices = NDArray[np.intp]
Bools = NDArray[np.bool_]
Codes = NDArray[np.uint8]
"""Small numbers that stand for words."""

Bits = NDArray[np.uint32]
"""A bit for each reason."""

Columns = dict[str, Array]
"""Columns by the field names of a record row, all of one length."""
