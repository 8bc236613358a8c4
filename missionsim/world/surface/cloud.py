"""Cloud layers with base and top, icing in them, and freezing rain."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats, Floats32, Ints
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.words import Stream
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.uniforms import Uniforms
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.station_climate import BLOCKS, MONTHS, PAIR_SHARE

BLOCK_H = 3
"""Hours over which the thickness of cloud, and whether it ices, stay the same."""

_SEASON_OF_MONTH = np.array([0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0])
_THICKNESS, _ICES, _FREEZING = range(3)
_DRAWS = HOURS // BLOCK_H   # of one kind at each place


@dataclass(frozen=True)
class CloudYear:
    """Clouds of one replication. Indices: place p, hour i = hour_index(t_h)."""

    climate: SurfaceClimate
    latent: FieldYear
    seed: int
    replication: int

    def extent(self, place: ArrayLike, hour: ArrayLike) -> tuple[Floats32, Floats32]:
        """Return base and top of the layer above sea level, `UNLIMITED_FT` for none, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        flat = place.ravel(), hour.ravel()
        base_ft, top_ft = self.extent_at(LayerPlan.of(self.climate, *flat), self.latent.value(*flat))
        return base_ft.reshape(place.shape), top_ft.reshape(place.shape)

    def extent_at(self, plan: LayerPlan, rank: Floats32) -> tuple[Floats32, Floats32]:
        """Return base and top of the layer at the pairs of a plan, [n]; `rank` [n]: of ceiling and visibility."""
        climate = self.climate
        base_ft = climate.ceiling_ft.reshape(-1).take(plan.lowest + climate.rank(rank))
        top_ft = np.full(base_ft.shape, UNLIMITED_FT, dtype=np.float32)
        some = np.flatnonzero(base_ft < UNLIMITED_FT)
        layer_ft = base_ft[some] + plan.elevation_ft[some]
        thickness = plan.thickness.draw(self.seed, self.replication).take(some)
        thick_ft = _thicker_ft(climate, plan.median_ft[some], thickness)
        base_ft[some], top_ft[some] = layer_ft, layer_ft + thick_ft
        return base_ft, top_ft

    def icing_rank(self, place: ArrayLike, hour: ArrayLike) -> Floats32:
        """Return the uniform draw that decides whether cloud at a place ices, present or not, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        return self.icing_rank_at(icing_draws(self.climate, place.ravel(), hour.ravel())).reshape(place.shape)

    def icing_rank_at(self, draws: Uniforms) -> Floats32:
        """Return the same as `icing_rank` for `icing_draws` at pairs of place and hour, [n]."""
        return draws.draw(self.seed, self.replication)

    def freezing_rain(self, place: ArrayLike, hour: ArrayLike, temperature_c: ArrayLike,
                      rank: Floats32 | None = None) -> Bools:
        """Return whether freezing rain or drizzle falls at a place, given its surface temperature, [n].

        Parameters
        ----------
        place : (n,) int array       Row of the place.
        hour : (n,) int array        Hour index.
        temperature_c : (n,) array   At the surface. [°C]
        rank : (n,) array            Normal deviate of ceiling and visibility, where known already.
        """
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        a = self.climate.assumptions
        low, high = a["weather.freezing_rain_band_c"]
        temperature = np.asarray(temperature_c)
        fit = (temperature >= low) & (temperature <= high)
        fit &= (self.latent.value(place, hour) if rank is None else rank) < a["weather.freezing_rain_rank"]
        some = np.nonzero(fit)
        there, then = place[some], hour[some]
        drawn = _draws_of(self.climate, _FREEZING, there, then).draw(self.seed, self.replication)
        fit[some] = drawn < self.climate.freezing_chance[there, self.climate.cell(there, then) // BLOCKS]
        return np.asarray(fit)


@dataclass(frozen=True, slots=True)
class LayerPlan:
    """What layers of cloud are looked up with at pairs of place and hour, [n].

    `lowest`: flat place of the lowest ceiling among those of the climate; `median_ft`: thickness of layers;
    `thickness`: the draws that decide about it.
    """

    lowest: Ints
    elevation_ft: Floats32
    median_ft: Floats
    thickness: Uniforms

    @classmethod
    def of(cls, climate: SurfaceClimate, place: Ints, hour: Ints) -> LayerPlan:
        """Return the plan for pairs of place and hour."""
        cell = climate.cell(place, hour)
        return cls((place * MONTHS * BLOCKS + cell) * climate.ceiling_ft.shape[-1],
                   climate.elevation_ft.astype(np.float32)[place], _median_ft(climate, place, cell // BLOCKS),
                   _draws_of(climate, _THICKNESS, place, hour))


def icing_draws(climate: SurfaceClimate, place: Ints, hour: Ints) -> Uniforms:
    """Return the draws that decide whether cloud ices at pairs of place and hour, [n]."""
    return _draws_of(climate, _ICES, place, hour)


def _draws_of(climate: SurfaceClimate, kind: int, place: Ints, hour: Ints) -> Uniforms:
    """Return the draws of one kind; each place's stream holds them one kind after the other."""
    return Uniforms.of(place, kind * _DRAWS + hour // BLOCK_H, Stream.ICING, climate.latent_plan.address)


def thickness_ft(climate: SurfaceClimate, place: Ints, month: Ints, uniform: ArrayLike,
                 ) -> Floats:
    """Return thicknesses of cloud layers, log-normal about a median by season and region, [n].

    Parameters
    ----------
    climate : SurfaceClimate
    place : (n,) int array   Row of the place.
    month : (n,) int array   January 0.
    uniform : (n,) array     0 to 1.
    """
    return _thicker_ft(climate, _median_ft(climate, place, month), uniform)


def _median_ft(climate: SurfaceClimate, place: Ints, month: Ints) -> Floats:
    by_season = np.asarray(climate.assumptions["weather.cloud_thickness_ft"])
    return np.asarray(by_season[_SEASON_OF_MONTH[month]] * _region_factor(climate)[place])


def _thicker_ft(climate: SurfaceClimate, median_ft: Floats, uniform: ArrayLike) -> Floats:
    spread = normal_quantile(np.clip(uniform, 1e-6, 1 - 1e-6))
    return np.asarray(median_ft * np.exp(climate.assumptions["weather.cloud_thickness_spread"] * spread))


def icing_share(climate: SurfaceClimate, level_ft: ArrayLike, temperature_c: ArrayLike, temperature_sd_c: ArrayLike,
                ) -> Floats:
    """Return the share of hours in which levels are in icing cloud, by place and month, [p, 12, levels].

    Parameters
    ----------
    level_ft : (levels,) array                  Above sea level. [ft]
    temperature_c : (p, 12, levels) array       Mean at the level. [°C]
    temperature_sd_c : broadcastable to that    Spread about the mean. [°C]
    """
    level, mean = np.asarray(level_ft, dtype=np.float64), np.asarray(temperature_c, dtype=np.float64)
    spread = np.asarray(temperature_sd_c, dtype=np.float64)
    a = climate.assumptions
    cold = (normal_cdf((0.0 - mean) / spread)
            - normal_cdf((a["weather.icing_coldest_c"] - mean) / spread))
    return np.asarray(a["weather.icing_share"] * cold * cloud_share(climate, level))


def cloud_share(climate: SurfaceClimate, level_ft: Floats) -> Floats:
    """Return the share of hours in which levels lie within the cloud layer, by place and month, [p, 12, levels]."""
    middles = (np.arange(9) + 0.5) / 9
    places, months = np.arange(len(climate.names))[:, None], np.arange(MONTHS)[None]
    present = climate.ceiling_ft < UNLIMITED_FT
    base = climate.ceiling_ft + climate.elevation_ft[:, None, None, None].astype(np.float32)
    share = present * PAIR_SHARE / BLOCKS
    out = np.zeros((len(climate.names), MONTHS, level_ft.size))
    for middle in middles.tolist():
        thick = thickness_ft(climate, places, months, middle)[:, :, None, None]
        for k, level in enumerate(level_ft.tolist()):
            inside = (base <= level) & (base + thick >= level)
            out[:, :, k] += (inside * share).sum(axis=(2, 3)) / middles.size
    return out


def _region_factor(climate: SurfaceClimate) -> Floats:
    north_west, north, south = climate.assumptions["weather.cloud_thickness_region"]
    lat, lon = climate.latitude_deg, climate.longitude_deg
    return np.where((lon < -115.0) & (lat > 40.0), north_west, np.where(lat > 36.0, north, south))
