"""Shortest way over the cells of the terrain at a level, where the straight line does not clear.

The cost of the cheapest way to the goal is relaxed over the whole window at once, all moves together, until nothing
that matters changes: a few dozen array sweeps instead of a loop over cells.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cache
from math import cos, radians

import numpy as np
from numpy.lib.stride_tricks import sliding_window_view

from missionsim.physics.geodesy import haversine_nm
from missionsim.world.ground.terrain import NM_PER_DEG, Terrain

_REACH = 2
"""Cells of the longest move along a row or column."""

_SPHERE_SHORT = 0.99
"""Distances on a sphere, and of moves in a window, against the ellipsoid's."""

_MOVES: tuple[tuple[int, int], ...] = (
    (-1, 0), (1, 0), (0, -1), (0, 1), (-1, -1), (-1, 1), (1, -1), (1, 1),
    (-2, -1), (-2, 1), (2, -1), (2, 1), (-1, -2), (-1, 2), (1, -2), (1, 2))

_SQUARE = 2 * _REACH + 1
_STEPS = tuple((row, column) for row in range(-_REACH, _REACH + 1) for column in range(-_REACH, _REACH + 1))
_MOVE_ROWS = [_STEPS.index(move) for move in _MOVES]
"""Steps to all cells of the square around one, and which of them are moves."""


@dataclass(frozen=True)
class SearchWindow:
    """The cells from which both ends are in reach within the allowed length.

    Parameters
    ----------
    required_ft : (h, w) float32   Level that the ground of each cell requires, inf where unknown.
    near_end : (h, w) bool         Cells so near an end that moves between them are climb-out or let-down.
    reachable : (h, w) bool        Cells by which a way of the allowed length can lead.
    from_start_nm : (h, w)         No way from the start is shorter than this.
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
        steps = self._steps(level_ft)
        to_go = self._relaxed(steps)
        (row, column), width = self.start, to_go.shape[1]
        if not np.isfinite(to_go[row + _REACH, column + _REACH]):
            return []
        by_cell, flat = steps.reshape(len(steps), -1)[_MOVE_ROWS], to_go.ravel()
        beyond = np.array([dr * width + dc for dr, dc in _MOVES])
        cells = [(row, column)]
        while (row, column) != self.goal:
            costs = (by_cell[:, row * self.required_ft.shape[1] + column]
                     + flat.take((row + _REACH) * width + column + _REACH + beyond))
            dr, dc = _MOVES[int(costs.argmin())]
            row, column = row + dr, column + dc
            cells.append((row, column))
        return [(r + self.row0, c + self.column0) for r, c in cells]

    def _steps(self, level_ft: float) -> np.ndarray:
        """Return the cost of a step by (rows, columns) from every cell, [25, h, w].

        Infinite unless it is one of the moves, stays inside and all ground near it is clear.
        """
        shape = self.required_ft.shape
        corridor = self.half_width_nm, self.cell_nm, self.narrow_share
        far = _cells_aside(*corridor)
        border = far + _REACH
        clear = np.pad(self.required_ft <= level_ft, border, constant_values=True)
        # What is near both ends of a move is nearly all that is near the move itself.
        around = np.ones((shape[0] + 2 * _REACH, shape[1] + 2 * _REACH), dtype=bool)
        for offset in _cells_near((0, 0), *corridor):
            around &= _shifted(clear, offset, around.shape, far)
        inside, near_end = np.pad(self.reachable, _REACH), np.pad(self.near_end, _REACH)
        steps = np.full((len(_STEPS), *shape), np.inf, dtype=np.float32)
        for move, row, cost_nm in zip(_MOVES, _MOVE_ROWS, self.move_nm, strict=True):
            free = _both(around, move, shape)
            for offset in _cells_between(move, *corridor):
                free &= _shifted(clear, offset, shape, border)
            free |= _both(near_end, move, shape)
            free &= _both(inside, move, shape)
            np.copyto(steps[row], cost_nm[:, None], where=free)
        return steps

    def _relaxed(self, steps: np.ndarray) -> np.ndarray:
        """Return the length of the shortest way to the goal from every cell that can matter to the start.

        With a border of `_REACH` infinite cells.
        """
        height, width = self.required_ft.shape
        to_go = np.full((height + 2 * _REACH, width + 2 * _REACH), np.inf, dtype=np.float32)
        inner = to_go[_REACH:-_REACH, _REACH:-_REACH]
        inner[self.goal] = 0.0
        steps, beyond = steps.reshape(_SQUARE, _SQUARE, height, width), sliding_window_view(to_go, (height, width))
        room = np.empty(steps.size, dtype=np.float32)
        rows, columns = (slice(end, end + 1) for end in self.goal)
        while True:
            # Only what lies within a move of the cells that just changed can change.
            rows, columns = _wider(rows, height), _wider(columns, width)
            here = inner[rows, columns]
            ways = room[:len(_STEPS) * here.size].reshape(len(_STEPS), *here.shape)
            np.add(beyond[:, :, rows, columns], steps[:, :, rows, columns],
                   out=ways.reshape(_SQUARE, _SQUARE, *here.shape))
            shortest = ways.min(axis=0)
            changed = shortest < here
            np.minimum(here, shortest, out=here)
            # A cell that just changed can only shorten the way from the start by what lies between them.
            changed &= shortest + self.from_start_nm[rows, columns] < inner[self.start]
            if not changed.any():
                return to_go
            rows, columns = _part(changed.any(axis=1), rows), _part(changed.any(axis=0), columns)


def search_windows(terrain: Terrain, corner: tuple[int, int], required: np.ndarray, ends: np.ndarray, longest_nm: float,
                   ends_nm: tuple[float, float], half_width_nm: float) -> tuple[SearchWindow, SearchWindow]:
    """Return the windows of an eager search and of a sure one.

    The eager one leaves out all cells whose centre is near an end: it finds ways along the edge of the end zones, which
    have to be checked, while the others are sure.

    Parameters
    ----------
    terrain : Terrain                 The grid.
    corner : (row, column)            Corner of the window in the terrain's grid.
    required : (h, w) array           Level that the ground of each cell requires, NaN where unknown. [ft]
    ends : (2, 2) array               Latitude and longitude of start and goal. [deg]
    longest_nm : float                Longest way allowed. [nm]
    ends_nm : two floats              Distance from each end that counts as climb and let-down. [nm]
    half_width_nm : float             Ground counts within this distance of the way. [nm]
    """
    height, width = required.shape
    lat, lon = terrain.centre_of(corner[0] + np.arange(height)[:, None], corner[1] + np.arange(width)[None, :])
    from_start, to_goal = (haversine_nm(lat, lon, *end) for end in ends)
    level = np.where(np.isnan(required), np.inf, required).astype(np.float32)
    # A cell reaches no farther from its centre than half its diagonal: so far inside the end zones it never counts.
    reach_nm = half_width_nm + 0.71 * terrain.cell_deg * NM_PER_DEG
    sure, near_end = ((from_start <= ends_nm[0] - reach) | (to_goal <= ends_nm[1] - reach)
                      for reach in (reach_nm, 0.0))
    levels = [np.where(without, np.float32(-np.inf), level) for without in (near_end, sure)]
    rows, columns = terrain.cell_of(ends[:, 0], ends[:, 1])
    start, goal = ((int(r) - corner[0], int(c) - corner[1]) for r, c in zip(rows, columns, strict=True))
    for end in (start, goal):
        near_end[end] = True
    cell_nm = terrain.cell_deg * NM_PER_DEG
    # Ways begin in the middle of the start's cell.
    aside_nm = haversine_nm(lat[start[0], 0], lon[0, start[1]], *ends[0])
    least_nm = np.maximum(_SPHERE_SHORT * from_start - aside_nm, 0.0)
    move_nm = [np.hypot(dr * cell_nm, dc * cell_nm * np.cos(np.radians(lat[:, 0]))) for dr, dc in _MOVES]
    eager = SearchWindow(
        levels[0], near_end, np.asarray(from_start + to_goal <= longest_nm + 2 * cell_nm), least_nm.astype(np.float32),
        np.array(move_nm, dtype=np.float32), start, goal, *corner, half_width_nm=half_width_nm, cell_nm=cell_nm,
        narrow_share=round(cos(radians(float(np.abs(lat).max()))), 2))
    return eager, replace(eager, required_ft=levels[1])


@cache
def _cells_near(move: tuple[int, int], half_width_nm: float, cell_nm: float, narrow_share: float,
                ) -> tuple[tuple[int, int], ...]:
    """Return offsets of the cells that come within a distance of the line from a cell's centre along a move."""
    share = np.linspace(0.0, 1.0, 25)
    border = _cells_aside(half_width_nm, cell_nm, narrow_share) + _REACH
    cells = np.arange(-border, border + 1)
    away_ns = np.maximum(np.abs(share * move[0] - cells[:, None]) - 0.5, 0.0) * cell_nm
    away_ew = np.maximum(np.abs(share * move[1] - cells[:, None]) - 0.5, 0.0) * cell_nm * narrow_share
    row, column = np.nonzero(np.hypot(away_ns[:, None], away_ew[None, :]).min(axis=2) <= half_width_nm)
    return tuple(zip((row - border).tolist(), (column - border).tolist(), strict=True))


def _cells_aside(half_width_nm: float, cell_nm: float, narrow_share: float) -> int:
    """Return how many cells aside of one's middle the ground can count."""
    return int(half_width_nm / (cell_nm * narrow_share)) + 1


@cache
def _cells_between(move: tuple[int, int], half_width_nm: float, cell_nm: float, narrow_share: float,
                   ) -> tuple[tuple[int, int], ...]:
    """Return offsets of the cells near a move that are near neither of its ends."""
    around = _cells_near((0, 0), half_width_nm, cell_nm, narrow_share)
    ends = {*around, *((row + move[0], column + move[1]) for row, column in around)}
    return tuple(offset for offset in _cells_near(move, half_width_nm, cell_nm, narrow_share) if offset not in ends)


def _wider(part: slice, size: int) -> slice:
    return slice(max(part.start - _REACH, 0), min(part.stop + _REACH, size))


def _part(changed: np.ndarray, whole: slice) -> slice:
    """Return the part of a slice in which something changed."""
    there = np.flatnonzero(changed)
    return slice(whole.start + int(there[0]), whole.start + int(there[-1]) + 1)


def _both(padded: np.ndarray, move: tuple[int, int], shape: tuple[int, int]) -> np.ndarray:
    """Return for each cell whether something holds there and at the end of a move."""
    return np.asarray(_shifted(padded, (0, 0), shape, _REACH) & _shifted(padded, move, shape, _REACH))


def _shifted(padded: np.ndarray, move: tuple[int, int], shape: tuple[int, ...], border: int) -> np.ndarray:
    top, left = border + move[0], border + move[1]
    return padded[top:top + shape[0], left:left + shape[1]]
