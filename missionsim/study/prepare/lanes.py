"""Lanes: directed routes flown from one first hour on, and the air that flights on them meet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, fields
from functools import cached_property
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints, Ints32
from missionsim.base.axes import APART, axis
from missionsim.base.streams import StreamSet
from missionsim.flight.batch import AirOnRoutes, PackedAir
from missionsim.world.ground.routes import Route
from missionsim.world.winds.simulated import LEVEL_GRID_FT, AirColumns, AirReading, RouteAir, RouteWinds, WindYear
from missionsim.year.looked_slots import AIR_SLOTS

MANY_CELLS = 50_000
"""Up to so many hours and lanes it is kept what their air is read with; that of more would fill memory."""


@dataclass(frozen=True, slots=True)
class _LaneCells:
    """Lanes and air slots in which flights may start, [cell], names as in `LaneSet`; `hours`: of the middle of each."""

    lane: Ints
    hours: Array
    below: Ints
    share: Array
    standard_c: Array
    low: Ints

    def places(self, pair: Ints) -> Ints32:
        """Return where the grid level below each of its levels stands for every cell, the rows of the grid pairs."""
        return np.asarray(self.below + len(LEVEL_GRID_FT) * pair[:, None], dtype=np.int32)

    def met(self, pair: Ints, below: Ints32, air: AirColumns) -> AirOnRoutes:
        """Return the air at every cell, at the lane's own levels, and calm standard air below it.

        Parameters
        ----------
        pair : (cell,) array           Row of the columns of air.
        below : (cell, level) array    As `places` tells.
        air : AirColumns
        """
        head, cross, warm = air

        def here(grid: Array) -> Array:
            flat, out = grid.reshape(-1), np.zeros((len(below) + 1, below.shape[1]), dtype=grid.dtype)
            lower = flat.take(below)
            more = np.subtract(flat[1:].take(below), lower, out=out[:-1])     # the grid level above each
            more *= self.share
            more += lower
            return out

        deviation_c, calm = here(warm), np.zeros(1, dtype=head.dtype)
        deviation_c[:-1] -= self.standard_c
        low = (np.concatenate([wind[pair, self.low], calm]) for wind in (head, cross))
        return AirOnRoutes(here(head), here(cross), deviation_c, *low)


@dataclass(frozen=True)
class LaneSet:
    """Lanes of all candidates that can use the same levels.

    `route` [lane]: index into `routes`; `first_h` [lane]: first hour; `used` [lane, air slot]: where flights may start;
    `levels_ft` [lane, level] padded with NaN;
    `below`, `share` [lane, level]: grid level under each level and how far above it; `low` [lane]: grid level of the
    air that climb and descent meet; `first_route`: where these routes start among all routes of the study.
    """

    routes: tuple[Route, ...] = axis(APART)
    route: Ints = axis("lane")
    first_h: Array = axis("lane")
    used: Bools = axis("lane")
    levels_ft: Array = axis("lane")
    below: Ints = axis("lane")
    share: Array = axis("lane")
    standard_c: Array = axis("lane")
    low: Ints = axis("lane")
    first_route: int = axis(APART)

    def air(self, source: RouteWinds) -> PackedAir:
        """Return the air of every lane at every air slot, at the lane's own levels; calm where no flight starts."""
        lane, slot, of = self._started
        parts = [self._met(source, self._cells_of(lane[first:first + MANY_CELLS], slot[first:first + MANY_CELLS]))
                 for first in range(0, max(len(lane), 1), MANY_CELLS)]
        # Calm air stands once, at the end.
        every = ([*(getattr(part, f.name)[:-1] for part in parts[:-1]), getattr(parts[-1], f.name)]
                 for f in fields(AirOnRoutes))
        return PackedAir(AirOnRoutes(*map(np.concatenate, every)), of)

    def _met(self, source: RouteWinds, cells: _LaneCells) -> AirOnRoutes:
        pair = np.arange(len(cells.lane))
        return cells.met(pair, cells.places(pair), source.at(self.first_route + self.route[cells.lane], cells.hours))

    @cached_property
    def _started(self) -> tuple[Ints, Ints, Ints32]:
        """Lanes and air slots in which flights may start, [cell], and the cell of each, their number where none is."""
        lane, slot = np.nonzero(self.used)
        of = np.full(self.used.shape, len(lane), dtype=np.int32)
        of[lane, slot] = np.arange(len(lane))
        return lane, slot, of

    @cached_property
    def _cells(self) -> _LaneCells:
        return self._cells_of(*self._started[:2])

    def _cells_of(self, lane: Ints, slot: Ints) -> _LaneCells:
        return _LaneCells(lane, self.first_h[lane] + AIR_SLOTS * slot + AIR_SLOTS / 2, self.below[lane],
                          self.share[lane], self.standard_c[lane], self.low[lane])

    @property
    def cells(self) -> int:
        """How many lanes and air slots flights may start in."""
        return len(self._started[0])

    def asked(self) -> tuple[Ints, Array]:
        """Return the routes of all cells among those of the study, and their hours."""
        return self.first_route + self.route[self._cells.lane], self._cells.hours

    def met(self, pair: Ints, below: Ints32, air: AirColumns) -> PackedAir:
        """Return the air of every lane from columns of air; see `_LaneCells.met`."""
        return PackedAir(self._cells.met(pair, below, air), self._started[2])

    def places(self, pair: Ints) -> Ints32:
        """Return where the levels of every cell stand in columns of air; see `_LaneCells.places`."""
        return self._cells.places(pair)

    def __getstate__(self) -> dict[str, Any]:
        """Return what is handed to workers: each works out the rest for itself."""
        return {f.name: getattr(self, f.name) for f in fields(self)}


@dataclass(frozen=True, slots=True)
class LaneAir:
    """What the air of all lanes of a study is read with in every replication.

    `pair`, `below`: of each lane set, as `LaneSet.met` wants them.
    """

    lane_sets: tuple[LaneSet, ...]
    operator: RouteAir
    reading: AirReading
    pair: tuple[Ints, ...]
    below: tuple[Ints32, ...]

    @classmethod
    def of(cls, lane_sets: tuple[LaneSet, ...], operator: RouteAir, beside: Sequence[StreamSet]) -> LaneAir:
        """Return what is read; an hour of a route that several lane sets fly is read once. Rest as for `air_of`."""
        asked = [lanes.asked() for lanes in lane_sets]
        route, hours = (np.concatenate(part) for part in zip(*asked, strict=True))
        reading = operator.reading(route, hours, alone=True)
        StreamSet.seated_together([reading.streams, *beside])
        pair = tuple(np.split(reading.pair, np.cumsum([len(own) for own, _ in asked])[:-1]))
        return cls(lane_sets, operator, reading, pair,
                   tuple(lanes.places(own) for lanes, own in zip(lane_sets, pair, strict=True)))

    def drawn(self, seed: int, replication: int) -> Iterator[PackedAir]:
        """Yield the air of each lane set in a replication; only the days that lanes are flown in are drawn."""
        columns = WindYear.simulate(self.operator, seed, replication, self.reading).read(self.reading)
        for lanes, pair, below in zip(self.lane_sets, self.pair, self.below, strict=True):
            yield lanes.met(pair, below, columns)


_KEPT: list[LaneAir] = []
"""What the study flown last is read with: each process works it out for itself."""


def air_of(lane_sets: tuple[LaneSet, ...], operator: RouteAir, seed: int, replication: int,
           beside: Sequence[StreamSet] = ()) -> Iterator[PackedAir]:
    """Return the air of every lane set in a replication, one made after the other.

    Parameters
    ----------
    lane_sets : tuple of LaneSet
    operator : RouteAir            Of the routes of all of them.
    seed, replication : int
    beside : sequence of StreamSet   What else each replication draws from: seated together with the winds.
    """
    if max(lanes.cells for lanes in lane_sets) > MANY_CELLS:
        winds = WindYear.simulate(operator, seed, replication)
        return (lanes.air(winds) for lanes in lane_sets)
    if not (_KEPT and _KEPT[0].lane_sets is lane_sets and _KEPT[0].operator is operator):
        _KEPT[:] = [LaneAir.of(lane_sets, operator, beside)]
    return _KEPT[0].drawn(seed, replication)
