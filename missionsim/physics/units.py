"""Unit factors of the standards, and the one way numbers come into physics."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.base.errors import ValidityError

FloatArray = npt.NDArray[np.floating]
"""What physics returns: an array, or a numpy float where every argument was a plain number."""

M_PER_FT = 0.3048
M_PER_NM = 1852.0
M_PER_SM = 1609.344
SM_PER_NM = M_PER_NM / M_PER_SM
HPA_PER_INHG = 33.86389
HPA_PER_PSI = 68.94757
LB_PER_KG = 2.20462

KELVIN = 273.15


def real(x: npt.ArrayLike) -> FloatArray:
    """Return numbers as a floating array; float32 stays float32, everything else becomes float64."""
    a = np.asarray(x)
    return a if a.dtype.kind == "f" else a.astype(np.float64)


def require_within(name: str, x: FloatArray, low: float, high: float) -> None:
    """Raise unless every value lies within both limits; a value that is not a number never does.

    Parameters
    ----------
    name : str     Of the value, for the message.
    x : array      The values.
    low : float    Least that is accepted.
    high : float   Most that is accepted.

    Raises
    ------
    ValidityError   Naming the quantity, the offending value and both limits.
    """
    if x.size == 0:
        return
    least, most = float(x.min()), float(x.max())
    if least >= low and most <= high:
        return
    value = most if most > high else least
    raise ValidityError(f"{name} is {value:,.6g}; valid from {low:,g} to {high:,g}")
