"""Power that an unsupercharged engine keeps with altitude.

References
----------
.. [1] Gagg and Ferrar, 1934, as quoted in light-aircraft performance textbooks (from memory).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.physics.atmosphere import density_altitude_of_ratio_ft
from missionsim.physics.units import FloatArray, real, require_within

# P/P0 = SLOPE sigma - LOSS, with SLOPE - LOSS = 1 so that the sea-level standard gives full power.
GAGG_FERRAR_SLOPE = 1.132
GAGG_FERRAR_LOSS = 0.132


def full_throttle_ratio(density_ratio: npt.ArrayLike) -> FloatArray:
    """Return full-throttle brake power over that at sea level in standard air, same revolutions.

    Parameters
    ----------
    density_ratio : float or array   Density over the standard at sea level.

    Returns
    -------
    float or array                   Power ratio, never below 0; above 1 in air denser than standard: whoever may not
                                     pull more than rated power limits it.
    """
    return np.maximum(GAGG_FERRAR_SLOPE * real(density_ratio) - GAGG_FERRAR_LOSS, 0.0)


def density_ratio_of_full_throttle(power_share: npt.ArrayLike) -> FloatArray:
    """Return the density ratio at which full throttle gives a share of sea-level power; inverse of the ratio."""
    return (real(power_share) + GAGG_FERRAR_LOSS) / GAGG_FERRAR_SLOPE


def density_altitude_of_full_throttle_ft(power_share: npt.ArrayLike) -> FloatArray:
    """Return the density altitude above which full throttle gives less than a share of sea-level power.

    Parameters
    ----------
    power_share : float or array     Share of sea-level power, 0 to 1.

    Returns
    -------
    float or array                   Density altitude. [ft]

    Raises
    ------
    ValidityError                    If a share lies outside 0 to 1.
    """
    share = real(power_share)
    require_within("power_share", share, 0.0, 1.0)
    return density_altitude_of_ratio_ft(density_ratio_of_full_throttle(share))
