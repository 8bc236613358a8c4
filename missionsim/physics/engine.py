"""Power that an unsupercharged engine keeps with altitude.

References
----------
.. [1] Gagg and Ferrar, 1934, as quoted in light-aircraft performance textbooks (from memory).
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.physics.units import FloatArray, real

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
