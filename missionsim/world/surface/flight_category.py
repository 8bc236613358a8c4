"""Flight categories from ceiling and visibility, and one number that ranks any pair of the two."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Codes, Floats32, Ints8

CATEGORIES = ("vfr", "mvfr", "ifr", "lifr")
"""Order of every array of categories."""

UNLIMITED_FT = 99_900.0
"""Stands for 'no ceiling' in arrays of feet."""

CEILING_NONE = 255
"""Stands for 'no ceiling' in codes of hundreds of feet."""

# Breaks of a common scale on which 1, 2 and 3 are the bounds LIFR-IFR, IFR-MVFR and MVFR-VFR.
# 3,000 ft and 5 sm still are MVFR, so the last bound lies just above them.
_CEILING_BREAKS_FT = (0.0, 200.0, 500.0, 1000.0, 3050.0, 6000.0, 12_000.0, UNLIMITED_FT)
_CEILING_SCORE = (0.0, 0.5, 1.0, 2.0, 3.0, 3.5, 3.9, 4.0)
_VISIBILITY_BREAKS_SM = (0.0, 0.5, 1.0, 3.0, 5.05, 7.0, 10.0)
_VISIBILITY_SCORE = (0.0, 0.5, 1.0, 2.0, 3.0, 3.5, 4.0)


def category(ceiling_ft: ArrayLike, visibility_sm: ArrayLike) -> Ints8:
    """Return the flight category, the worse of ceiling and visibility deciding.

    Parameters
    ----------
    ceiling_ft : float or array      Above ground; `UNLIMITED_FT` (or infinity) for none. [ft]
    visibility_sm : float or array   [statute miles]

    Returns
    -------
    int8 array   Index into `CATEGORIES`: 0 VFR, 1 MVFR, 2 IFR, 3 LIFR.

    References
    ----------
    .. [1] National Weather Service, Aviation Weather Center, flight category definitions: LIFR below 500 ft
           and/or 1 sm; IFR 500 to below 1,000 ft and/or 1 to below 3 sm; MVFR 1,000 to 3,000 ft and/or 3 to 5 sm.
    """
    ceiling = np.asarray(ceiling_ft, dtype=np.float64)
    visibility = np.asarray(visibility_sm, dtype=np.float64)
    worse = np.zeros(np.broadcast(ceiling, visibility).shape, dtype=np.int8)
    worse[(ceiling <= 3000.0) | (visibility <= 5.0)] = 1
    worse[(ceiling < 1000.0) | (visibility < 3.0)] = 2
    worse[(ceiling < 500.0) | (visibility < 1.0)] = 3
    return worse


def severity(ceiling_ft: ArrayLike, visibility_sm: ArrayLike) -> Floats32:
    """Return a score, low for bad weather, that ranks pairs by the worse of the two in terms of category.

    Parameters
    ----------
    ceiling_ft : float or array      Above ground. [ft]
    visibility_sm : float or array   [statute miles]

    Returns
    -------
    float32 array   0 to 4; below 1 LIFR, below 2 IFR, below 3 MVFR. The better of the two breaks ties.
    """
    by_ceiling = np.interp(np.asarray(ceiling_ft, dtype=np.float64), _CEILING_BREAKS_FT, _CEILING_SCORE)
    by_visibility = np.interp(np.asarray(visibility_sm, dtype=np.float64), _VISIBILITY_BREAKS_SM, _VISIBILITY_SCORE)
    score = np.minimum(by_ceiling, by_visibility) + 1e-4 * np.maximum(by_ceiling, by_visibility)
    return np.asarray(score, dtype=np.float32)


def ceiling_from_code(code: Codes) -> Floats32:
    """Return ceilings in feet from codes of hundreds of feet, 255 meaning none."""
    return np.where(code == CEILING_NONE, np.float32(UNLIMITED_FT), code.astype(np.float32) * np.float32(100.0))


def visibility_from_code(code: Codes) -> Floats32:
    """Return visibilities in statute miles from codes of tenths."""
    return code.astype(np.float32) * np.float32(0.1)
