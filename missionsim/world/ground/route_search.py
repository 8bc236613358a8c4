"""Shortest way over the cells of the terrain at a level, where the straight line does not clear.

The cost of the cheapest way to the goal is relaxed over the whole window at once, move by move, until nothing changes:
a few dozen array sweeps instead of a loop over cells.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from math import cos, radians

import numpy as np

from missionsim.physics.geodesy import haversine_nm
from missionsim.world.ground.terrain import NM_PER_DEG, Terrain

_PAD = 4
"""Cells around the window: the longest move and the ground within 5 nm of its end stay inside the arrays."""

_SPHERE_SHORT = 0.99
"""Distances on a sphere, and of moves in a window, against the ellipsoid's."""

_MOVES: tuple[tuple[int, int], ...] = (
    (-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1),
    (-2, -1), (-2, 1), (2, -1), (2, 1), (-1, -2), (-1, 2), (1, -2), (1, 2))


@dataclass(frozen=True)
class SearchWindow:
    """The cells from which both ends are in reach within the allowed length.

    Parameters
    ----------
    required_ft : (h, w) float32   Level that the ground of each cell requires, inf where unknown.
    near_end : (h, w) bool         Cells so near an end that moves between them are climb-out or let-down.
    reachable : (h, w) bool        Cells by which a way of the allowed length can lead.
    from_start_nm : (h, w)         Straight distance from the start.
    move_nm : (16, h) float32      Length of each move by row.
    start, goal : (row, column)    Cells of the two ends.
    row0, column0 : int            Corner of the window in the terrain's grid.
    half_width_nm : float          Ground counts within this distance of a move.
    cell_nm, narrow_share : float  Height of a cell; width of the narrowest cell as a share of it.
    """

    required_ft: np.ndarray = field(repr=False)
    near_end: np.ndarray = field(repr=False)
    reachable: np.ndarray = field(repr=False)
    from_start_nm: np.ndarray = field(repr=False)
    move_nm: np.ndarray = field(repr=False)
    start: tuple[int, int]
    goal: tuple[int, int]
    row0: int
    column0: int
    half_width_nm: float
    cell_nm: float
    narrow_share: float

    def way(self, level_ft: float) -> list[tuple[int, int]]:
        """Return the cells (row, column of the terrain) of the shortest way at a level, or nothing."""
        clear = np.pad(self.required_ft <= level_ft, _PAD, constant_values=True)
        inside, near_end = np.pad(self.reachable, _PAD), np.pad(self.near_end, _PAD)
        steps = []
        for move, cost_nm in zip(_MOVES, self.move_nm, strict=True):
            near = _cells_near(move, self.half_width_nm, self.cell_nm, self.narrow_share)
            steps.append(_step_cost(clear, inside, near_end, move, near, cost_nm))
        to_go = self._relaxed(steps)
        row, column = self.start
        if not np.isfinite(to_go[row + _PAD, column + _PAD]):
            return []
        cells = [(row, column)]
        while (row, column) != self.goal:
            costs = [step[row, column] + to_go[row + _PAD + dr, column + _PAD + dc]
                     for (dr, dc), step in zip(_MOVES, steps, strict=True)]
            dr, dc = _MOVES[int(np.argmin(costs))]
            row, column = row + dr, column + dc
            cells.append((row, column))
        return [(r + self.row0, c + self.column0) for r, c in cells]

    def _relaxed(self, steps: list[np.ndarray]) -> np.ndarray:
        """Return the length of the shortest way to the goal from every cell that can matter to the start."""
        shape = self.required_ft.shape
        to_go = np.full((shape[0] + 2 * _PAD, shape[1] + 2 * _PAD), np.inf, dtype=np.float32)
        to_go[self.goal[0] + _PAD, self.goal[1] + _PAD] = 0.0
        inner = to_go[_PAD:-_PAD, _PAD:-_PAD]
        beyond = [_shifted(to_go, move, shape) for move in _MOVES]
        from_start_nm = self.from_start_nm * _SPHERE_SHORT
        box = slice(self.goal[0], self.goal[0] + 1), slice(self.goal[1], self.goal[1] + 1)
        for _ in range(inner.size):
            # Only what lies within a move of the cells that just changed can change.
            box = _wider(box)
            here = inner[box]
            before = here.copy()
            for step, there in zip(steps, beyond, strict=True):
                np.minimum(here, there[box] + step[box], out=here)
            changed = here < before
            # A cell that just changed can only shorten the way from the start by what lies between them.
            promise = np.where(changed, here + from_start_nm[box], np.inf)
            if not promise.min() < inner[self.start]:
                break
            box = _around(changed, box)
        return to_go


def search_window(terrain: Terrain, corner: tuple[int, int], required: np.ndarray, ends: np.ndarray, longest_nm: float,
                  ends_nm: tuple[float, float], half_width_nm: float, eager: bool) -> SearchWindow:
    """Return the window of a search.

    Parameters
    ----------
    terrain : Terrain                 The grid.
    corner : (row, column)            Corner of the window in the terrain's grid.
    required : (h, w) array           Level that the ground of each cell requires, NaN where unknown. [ft]
    ends : (2, 2) array               Latitude and longitude of start and goal. [deg]
    longest_nm : float                Longest way allowed. [nm]
    ends_nm : two floats              Distance from each end that counts as climb and let-down. [nm]
    half_width_nm : float             Ground counts within this distance of the way. [nm]
    eager : bool                      Leave out all cells whose centre is near an end: finds ways along the edge of
                                      the end zones, which have to be checked, while the others are sure.
    """
    height, width = required.shape
    lat, lon = terrain.centre_of(corner[0] + np.arange(height)[:, None], corner[1] + np.arange(width)[None, :])
    from_start, to_goal = (haversine_nm(lat, lon, *end) for end in ends)
    level = np.where(np.isnan(required), np.inf, required).astype(np.float32)
    near_end = (from_start <= ends_nm[0]) | (to_goal <= ends_nm[1])
    # A cell reaches no farther from its centre than half its diagonal: so far inside the end zones it never counts.
    reach_nm = 0.0 if eager else half_width_nm + 0.71 * terrain.cell_deg * NM_PER_DEG
    level[(from_start <= ends_nm[0] - reach_nm) | (to_goal <= ends_nm[1] - reach_nm)] = -np.inf
    rows, columns = terrain.cell_of(ends[:, 0], ends[:, 1])
    start, goal = ((int(r) - corner[0], int(c) - corner[1]) for r, c in zip(rows, columns, strict=True))
    for end in (start, goal):
        near_end[end] = True
    cell_nm = terrain.cell_deg * NM_PER_DEG
    move_nm = [np.hypot(dr * cell_nm, dc * cell_nm * np.cos(np.radians(lat[:, 0]))) for dr, dc in _MOVES]
    return SearchWindow(
        level, near_end, np.asarray(from_start + to_goal <= longest_nm + 2 * cell_nm), from_start.astype(np.float32),
        np.array(move_nm, dtype=np.float32), start, goal, *corner, half_width_nm=half_width_nm, cell_nm=cell_nm,
        narrow_share=round(cos(radians(float(np.abs(lat).max()))), 2))


def _step_cost(clear: np.ndarray, inside: np.ndarray, near_end: np.ndarray, move: tuple[int, int],
               near: tuple[tuple[int, int], ...], cost_nm: np.ndarray) -> np.ndarray:
    """Return the cost of one move from every cell, infinite unless it stays inside and all ground near it is clear."""
    shape = (clear.shape[0] - 2 * _PAD, clear.shape[1] - 2 * _PAD)
    free = np.ones(shape, dtype=bool)
    for offset in near:
        free &= _shifted(clear, offset, shape)
    free |= _shifted(near_end, (0, 0), shape) & _shifted(near_end, move, shape)
    free &= _shifted(inside, (0, 0), shape) & _shifted(inside, move, shape)
    return np.where(free, cost_nm[:, None], np.float32(np.inf))


@cache
def _cells_near(move: tuple[int, int], half_width_nm: float, cell_nm: float, narrow_share: float,
                ) -> tuple[tuple[int, int], ...]:
    """Return offsets of the cells that come within a distance of the line from a cell's centre along a move."""
    share = np.linspace(0.0, 1.0, 25)
    cells = np.arange(-_PAD, _PAD + 1)
    away_ns = np.maximum(np.abs(share * move[0] - cells[:, None]) - 0.5, 0.0) * cell_nm
    away_ew = np.maximum(np.abs(share * move[1] - cells[:, None]) - 0.5, 0.0) * cell_nm * narrow_share
    row, column = np.nonzero(np.hypot(away_ns[:, None], away_ew[None, :]).min(axis=2) <= half_width_nm)
    return tuple(zip((row - _PAD).tolist(), (column - _PAD).tolist(), strict=True))


def _wider(box: tuple[slice, slice]) -> tuple[slice, slice]:
    rows, columns = (slice(max(part.start - 2, 0), part.stop + 2) for part in box)
    return rows, columns


def _around(changed: np.ndarray, box: tuple[slice, slice]) -> tuple[slice, slice]:
    """Return the part of a box in which something changed."""
    rows, columns = (np.flatnonzero(changed.any(axis=axis)) + part.start for axis, part in ((1, box[0]), (0, box[1])))
    return slice(int(rows[0]), int(rows[-1]) + 1), slice(int(columns[0]), int(columns[-1]) + 1)


def _shifted(padded: np.ndarray, move: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    top, left = _PAD + move[0], _PAD + move[1]
    return padded[top:top + shape[0], left:left + shape[1]]
