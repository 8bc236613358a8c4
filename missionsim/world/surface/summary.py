"""Month by month figures of a place's surface climate, for people: afternoons, crosswind, thunder."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Floats
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

_AFTERNOON = slice(13, 17)
_AFTERNOON_BLOCKS = slice(4, 6)     # 12 to 18 local standard time
_GRID = 21


def afternoon_temperature_c(climate: SurfaceClimate, quantile: float | None = None) -> Floats:
    """Return afternoon temperatures (13 to 17 h local standard time) by month, [p, 12].

    Parameters
    ----------
    quantile : float or None   None for the mean; 0.9 for the warmest afternoon in ten.
    """
    mean = climate.stacked("temperature_c")[:, :, _AFTERNOON].mean(axis=2, dtype=np.float64)
    if quantile is None:
        return mean
    spread = climate.stacked("temperature_sd_c")[:, :, _AFTERNOON_BLOCKS].mean(axis=2, dtype=np.float64)
    limit = climate.assumptions["weather.temperature_limit_sd"]
    return mean + np.clip(float(normal_quantile(quantile)), -limit, limit) * spread


def mean_pressure_hpa(climate: SurfaceClimate) -> Floats:
    """Return the mean station pressure by month, [p, 12]."""
    return climate.stacked("pressure_hpa").astype(np.float64)


def thunder_by_month(climate: SurfaceClimate) -> Floats:
    """Return the share of hours with thunder at the place by month, [p, 12]."""
    return np.asarray(climate.thunder_share.mean(axis=2))


def crosswind_share(climate: SurfaceClimate, place: int, heading_deg: ArrayLike, limit_kt: float,
                    ) -> Floats:
    """Return the share of hours with more crosswind than a limit on the best of a place's runways, by month, [12].

    Parameters
    ----------
    place : int
    heading_deg : (r,) array     True headings of the runways, one end each will do.
    limit_kt : float             Mean wind; gusts are left out.

    Notes
    -----
    One runway: exact under the normal wind of each cell. Several: wind on a grid of equal chances.
    """
    heading = np.radians(np.atleast_1d(np.asarray(heading_deg, dtype=np.float64)))
    names = ("wind_u_kt", "wind_v_kt", "wind_sd_u_kt", "wind_sd_v_kt", "wind_correlation")
    u, v, sd_u, sd_v, r = (climate.cells[place].rest[name].astype(np.float64)[..., None] for name in names)
    if heading.size == 1:
        across, along = np.cos(heading), -np.sin(heading)
        mean = u * across + v * along
        variance = (sd_u * across) ** 2 + (sd_v * along) ** 2 + 2 * r * sd_u * sd_v * across * along
        sd = np.sqrt(np.maximum(variance, 1e-6))
        over = normal_cdf((mean - limit_kt) / sd) + normal_cdf((-mean - limit_kt) / sd)
        return np.asarray(over[..., 0].mean(axis=1))
    z = normal_quantile((np.arange(_GRID) + 0.5) / _GRID)
    first, second = (a.ravel() for a in np.meshgrid(z, z))
    east = u + sd_u * first
    north = v + sd_v * (r * first + np.sqrt(1.0 - r * r) * second)
    least = np.full((MONTHS, BLOCKS, first.size), np.inf)
    for h in heading:
        least = np.minimum(least, np.abs(east * np.cos(h) - north * np.sin(h)))
    return np.asarray((least > limit_kt).mean(axis=(1, 2)))
