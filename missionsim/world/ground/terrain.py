"""Highest ground per 5-minute cell, for en-route minimum levels. Not for obstacle clearance.

Cover is the contiguous states and what the grid holds around them. Elsewhere the ground is unknown (NaN), never sea
level.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache, cached_property

import numpy as np
import numpy.typing as npt

from missionsim.base.arrays import Bools, Ints
from missionsim.world import data

NM_PER_DEG = 60.0
_UNKNOWN_FT = -32768


@dataclass(frozen=True, eq=False)
class Terrain:
    """Cells of a latitude-longitude grid, north to south and west to east.

    Parameters
    ----------
    ground_ft : (rows, columns) float32    Highest sample of the cell, NaN where unknown. [ft]
    relief_ft : (rows, columns) float32    Highest less lowest sample of the cell and its eight neighbours. [ft]
    mountain : (rows, columns) bool        Mountainous area.
    north_deg, west_deg, cell_deg : float  Corner of the grid and size of a cell. [deg]
    """

    ground_ft: np.ndarray = field(repr=False)
    relief_ft: np.ndarray = field(repr=False)
    mountain: np.ndarray = field(repr=False)
    north_deg: float
    west_deg: float
    cell_deg: float
    _kept: dict[float, np.ndarray] = field(init=False, default_factory=dict, repr=False, compare=False)

    @staticmethod
    def packaged() -> Terrain:
        """Return the terrain that comes with the package."""
        return _packaged()

    def highest_ft(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> np.ndarray:
        """Return the highest ground of the cell each place lies in, NaN where unknown. [ft]."""
        return self._looked_up(self.ground_ft, lat, lon, np.nan)

    def covered(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> np.ndarray:
        """Return whether the ground is known at each place."""
        return np.isfinite(self.highest_ft(lat, lon))

    def mountainous(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> np.ndarray:
        """Return whether each place lies in a mountainous area; False where the ground is unknown."""
        return self._looked_up(self.mountain, lat, lon, False).astype(bool)

    def corridor_floor(self, lat: npt.ArrayLike, lon: npt.ArrayLike, half_width_nm: float,
                       relief_share: float = 0.0) -> np.ndarray:
        """Return the highest ground of all cells that come within a distance of each place.

        Parameters
        ----------
        lat, lon : (n,) arrays    Places, such as samples of a course every 2 to 3 nm. [deg]
        half_width_nm : float     Distance. [nm]
        relief_share : float      Share of the relief around a cell added to its ground: peaks stand above the samples.

        Returns
        -------
        (n,) array                NaN where the ground below the place itself is unknown. [ft]
        """
        lat, lon = np.broadcast_arrays(np.asarray(lat, dtype=float), np.asarray(lon, dtype=float))
        east = _east_of(lon, self.west_deg)
        row = np.floor((self.north_deg - lat) / self.cell_deg).astype(int)
        column = np.floor((east - self.west_deg) / self.cell_deg).astype(int)
        down, across = self._offsets(half_width_nm, lat)
        rows, columns = row[..., None] + down, column[..., None] + across
        away_ns = np.abs(self.north_deg - (rows + 0.5) * self.cell_deg - lat[..., None])
        away_ew = np.abs(self.west_deg + (columns + 0.5) * self.cell_deg - east[..., None])
        half = 0.5 * self.cell_deg
        scale = np.cos(np.radians(lat))[..., None] * NM_PER_DEG
        apart_nm = np.hypot((np.maximum(away_ns - half, 0.0) * NM_PER_DEG)[..., :, None],
                            (np.maximum(away_ew - half, 0.0) * scale)[..., None, :])
        grid, known = self.bordered(relief_share), self.known_cells
        height, width = known.shape
        at = ((np.minimum(np.maximum(rows + 1, 0), height - 1) * width)[..., :, None]
              + np.minimum(np.maximum(columns + 1, 0), width - 1)[..., None, :])
        highest = np.where(apart_nm <= half_width_nm, grid.take(at), -np.inf).max(axis=(-2, -1))
        return np.where(known.take(self._number(row, column)), highest, np.nan)

    def number_of(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> Ints:
        """Return the number of the cell each place lies in, row by row in a grid with a border of one unknown cell."""
        return self._number(*self.cell_of(lat, lon))

    def bordered(self, relief_share: float) -> np.ndarray:
        """Return the ground with a share of the relief in a border of one cell, -inf where unknown; kept. [ft]"""
        if relief_share not in self._kept:
            ground = self.ground_ft + relief_share * self.relief_ft
            self._kept[relief_share] = np.pad(np.where(np.isfinite(ground), ground, -np.inf), 1,
                                              constant_values=-np.inf)
        return self._kept[relief_share]

    @cached_property
    def known_cells(self) -> Bools:
        """Where the ground is known, in a border of one cell."""
        return np.pad(np.isfinite(self.ground_ft), 1)

    def _number(self, row: np.ndarray, column: np.ndarray) -> Ints:
        height, width = self.ground_ft.shape
        return np.asarray(np.minimum(np.maximum(row + 1, 0), height + 1) * (width + 2)
                          + np.minimum(np.maximum(column + 1, 0), width + 1))

    def cell_of(self, lat: npt.ArrayLike, lon: npt.ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Return row and column of the cell of each place; they may lie outside the grid."""
        row = np.floor((self.north_deg - np.asarray(lat, dtype=float)) / self.cell_deg).astype(int)
        east = _east_of(np.asarray(lon, dtype=float), self.west_deg)
        return row, np.floor((east - self.west_deg) / self.cell_deg).astype(int)

    def centre_of(self, row: npt.ArrayLike, column: npt.ArrayLike) -> tuple[np.ndarray, np.ndarray]:
        """Return latitude and longitude of the centre of cells. [deg]."""
        return (self.north_deg - (np.asarray(row) + 0.5) * self.cell_deg,
                self.west_deg + (np.asarray(column) + 0.5) * self.cell_deg)

    def _looked_up(self, grid: np.ndarray, lat: npt.ArrayLike, lon: npt.ArrayLike, outside: float) -> np.ndarray:
        row, column = self.cell_of(lat, lon)
        row, column = np.broadcast_arrays(row, column)
        inside = self._inside(row, column)
        return np.where(inside, grid[np.where(inside, row, 0), np.where(inside, column, 0)], outside)

    def _inside(self, row: np.ndarray, column: np.ndarray) -> np.ndarray:
        return np.asarray((row >= 0) & (row < self.ground_ft.shape[0])
                          & (column >= 0) & (column < self.ground_ft.shape[1]))

    def _offsets(self, half_width_nm: float, lat: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Return offsets of rows and of columns that can come within the distance of a place in the middle cell."""
        cell_nm = self.cell_deg * NM_PER_DEG
        narrowest = max(float(np.cos(np.radians(np.abs(lat).max(initial=0.0)))), 0.05)
        high = int(np.ceil(half_width_nm / cell_nm))
        wide = int(np.ceil(half_width_nm / (cell_nm * narrowest)))
        return np.arange(-high, high + 1), np.arange(-wide, wide + 1)


@cache
def _packaged() -> Terrain:
    arrays = data.terrain_arrays()
    highest = arrays["highest_ft"]
    ground = np.where(highest == _UNKNOWN_FT, np.nan, highest).astype(np.float32)
    relief = arrays["relief_steps"].astype(np.float32) * np.float32(arrays["relief_step_ft"])
    mountain = np.unpackbits(arrays["mountainous_bits"], axis=1)[:, : highest.shape[1]].astype(bool)
    return Terrain(ground, relief, mountain, float(arrays["north_deg"]), float(arrays["west_deg"]),
                   float(arrays["cell_deg"]))


def _east_of(lon: np.ndarray, west_deg: float) -> np.ndarray:
    """Return longitudes counted eastward from half a turn west of the grid's edge, so that the date line is no edge."""
    return np.asarray((lon - west_deg + 180.0) % 360.0 + west_deg - 180.0)
