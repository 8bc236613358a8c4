"""Cruising levels by rule and course."""

from __future__ import annotations

import numpy as np

from missionsim.base.arrays import Floats


def legal_levels_ft(magnetic_course_deg: float, instrument: bool, lowest_ft: float, highest_ft: float,
                    ) -> Floats:
    """Return the legal cruising levels between two limits, both ends included.

    Parameters
    ----------
    magnetic_course_deg : float     Magnetic course. [deg]
    instrument : bool               Instrument flight: whole thousands; visual: thousands plus 500.
    lowest_ft, highest_ft : float   Limits. [ft]

    Returns
    -------
    (k,) array   Ascending; possibly empty. [ft]

    References
    ----------
    .. [1] 14 CFR 91.159 (visual, more than 3,000 ft above ground) and 91.179 (instrument): courses 0 to 179 odd
       thousands, 180 to 359 even thousands. Above 18,000 ft visual flight is not available.
    """
    course = magnetic_course_deg % 360.0
    thousands = np.arange(1000.0 if course < 180.0 else 2000.0, 45_001.0, 2000.0)
    levels = thousands if instrument else thousands + 500.0
    top = highest_ft if instrument else min(highest_ft, 17_999.0)
    return levels[(levels >= lowest_ft) & (levels <= top)]


def choose_levels_ft(magnetic_course_deg: float, instrument: bool, lowest_ft: float, highest_ft: float,
                     fields_ft: float) -> Floats:
    """Return the levels worth planning on a route: the legal ones, and for short hops a low one.

    Below 3,000 ft above ground the semicircular rule does not bind visual flight, so the lowest whole 500 ft that
    clears is offered too; an instrument flight gets the lowest legal one or the assigned minimum.

    Parameters
    ----------
    magnetic_course_deg : float   [deg]
    instrument : bool             Flown on instruments.
    lowest_ft : float             Lowest level that clears. [ft]
    highest_ft : float            Highest level usable. [ft]
    fields_ft : float             Elevation of the higher field. [ft]
    """
    levels = legal_levels_ft(magnetic_course_deg, instrument, lowest_ft, highest_ft)
    step = 1000.0 if instrument else 500.0
    low = float(np.ceil(lowest_ft / step) * step)
    if low <= highest_ft and low < fields_ft + 3000.0 and (levels.size == 0 or levels[0] > low):
        levels = np.concatenate(([low], levels))
    return levels
