"""Cloud layers with base and top, icing in them, and freezing rain."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats, Floats32, Ints
from missionsim.base.normal import normal_cdf, normal_quantile
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.random_fields.series_cache import PlaceRows
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.world.surface.flight_category import UNLIMITED_FT
from missionsim.world.surface.station_climate import BLOCKS, MONTHS, PAIR_SHARE

BLOCK_H = 3
"""Hours over which the thickness of cloud, and whether it ices, stay the same."""

_SEASON_OF_MONTH = np.array([0, 0, 1, 1, 1, 2, 2, 2, 3, 3, 3, 0])
_THICKNESS, _ICES, _FREEZING = range(3)


@dataclass(frozen=True)
class CloudYear:
    """Clouds of one replication. Indices: place p, hour i = hour_index(t_h)."""

    climate: SurfaceClimate
    latent: FieldYear
    seed: int
    replication: int

    def extent(self, place: ArrayLike, hour: ArrayLike, rank: Floats32 | None = None,
               ) -> tuple[Floats32, Floats32]:
        """Return base and top of the layer above sea level, `UNLIMITED_FT` for none, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        climate = self.climate
        rank = self.latent.value(place, hour) if rank is None else rank
        ceiling = climate.pair_value(climate.ceiling_ft, place, hour, rank)
        present = ceiling < UNLIMITED_FT
        base = np.where(present, ceiling + climate.elevation_ft.astype(np.float32)[place], np.float32(UNLIMITED_FT))
        thick = thickness_ft(climate, place, climate.cell(place, hour) // BLOCKS, self._draws(_THICKNESS, place, hour))
        return base.astype(np.float32), np.where(present, base + thick, np.float32(UNLIMITED_FT)).astype(np.float32)

    def icing_rank(self, place: ArrayLike, hour: ArrayLike) -> Floats32:
        """Return the uniform draw that decides whether cloud at a place ices, present or not, [n]."""
        place, hour = np.broadcast_arrays(np.asarray(place), np.asarray(hour))
        return self._draws(_ICES, place, hour)

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
        month = self.climate.cell(place, hour) // BLOCKS
        return np.asarray(fit & (self._draws(_FREEZING, place, hour) < self.climate.freezing_chance[place, month]))

    def _draws(self, kind: int, place: Ints, hour: Ints) -> Floats32:
        return self._uniforms[kind].at(place, hour // BLOCK_H)

    @cached_property
    def _uniforms(self) -> tuple[PlaceRows, ...]:
        return tuple(self._rows_of(kind) for kind in (_THICKNESS, _ICES, _FREEZING))

    def _rows_of(self, kind: int) -> PlaceRows:
        """Return the draws of one kind; each place's stream holds them one kind after the other."""
        address, seed, replication, blocks = self.latent.plan.address, self.seed, self.replication, HOURS // BLOCK_H

        def draw(places: Ints) -> Iterator[Floats32]:
            for random in generators(seed, replication, Stream.ICING, *address[places].T):
                source = random.bit_generator
                assert isinstance(source, np.random.PCG64)
                source.advance(kind * blocks // 2)  # two draws of 32 bits from each step
                yield random.random(blocks, dtype=np.float32)

        return PlaceRows(len(address), blocks, draw)


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
    a = climate.assumptions
    median = np.asarray(a["weather.cloud_thickness_ft"])[_SEASON_OF_MONTH[month]] * _region_factor(climate)[place]
    spread = normal_quantile(np.clip(uniform, 1e-6, 1 - 1e-6))
    return np.asarray(median * np.exp(a["weather.cloud_thickness_spread"] * spread))


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
