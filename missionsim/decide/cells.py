"""Rows and hours that somebody may come to, packed: the only ones that are planned and decided.

Three lists, each in the order of leg, block of hours and itinerary: blocks of a leg, choices (an itinerary in a block)
and cells (a row in a block). The cells of a choice stand together, and so do the choices of a block: "one of its
flights" and "the best of them" are each one reduction over neighbours.

Hours are arrays [hour of the block, entry]: what holds for a whole block broadcasts along the long axis, and what holds
for an itinerary is looked up once for three hours.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints, Ints32
from missionsim.flight.batch import AirOnRoutes, PackedAir
from missionsim.year.looked_slots import AIR_SLOTS, LookedHours
from missionsim.year.schedule import Schedule


@dataclass(frozen=True, slots=True)
class LegBlocks:
    """Blocks of hours of legs that somebody may come to, and the itineraries they may be flown by.

    Per block: `leg`, `at` (flat place among [leg, block of its columns]), `first` (choice of its first itinerary).
    `open_`, `slot` [hour, block]: hours looked at, their departure slots. Per choice: `block`, `option` and `rank` by
    number of flights, most first. `flown`: of flights one after the other, the cells of all choices that have so many,
    in the order of their rank; itineraries that share a flight share its cell.
    `planned` [leg]: flat place of the planned hour among [hour, block]; `legs`: those that have any, `leg_first`: block
    at which each of those begins. `packed`, `unpacked`: flat places of hours looked at, among [hour, block] and among
    [leg, slot], of `shape`. `blocks`: of columns that every leg has. `of_looked`: which of the blocks looked at each
    is; None where they are all of them.
    """

    leg: Ints
    at: Ints
    first: Ints
    open_: Bools
    slot: Ints
    block: Ints
    option: Ints
    rank: Ints
    flown: tuple[Ints, ...]
    planned: Ints
    legs: Ints
    leg_first: Ints
    packed: Ints
    unpacked: Ints
    shape: tuple[int, int]
    blocks: int
    of_looked: Ints32 | None

    @classmethod
    def of(cls, at: Ints, option: Ints, cell: Ints, schedule: Schedule) -> LegBlocks:
        """Return the blocks of flights in order, those of an itinerary in a block one behind the other.

        Parameters
        ----------
        at : (flight,) array       Place of each among [leg, block].
        option : (flight,) array   Its itinerary.
        cell : (flight,) array     Where it is planned.
        schedule : Schedule
        """
        looks = schedule.looks
        blocks = looks.block.shape[1]
        first_flight = _begins(at, option)
        of_leg = at[first_flight]
        first = _begins(of_leg)
        used = of_leg[first]
        leg = used // blocks
        open_, slot = (_by_hour(values).take(used, axis=1) for values in (looks.open_, looks.slot))
        packed = np.flatnonzero(open_)
        unpacked = leg[packed % len(used)] * schedule.slots + slot.reshape(-1)[packed]
        leg_first = _begins(leg)
        column = schedule.planned_column[1]
        planned = np.searchsorted(used, schedule.planned_column[0] * blocks + column // AIR_SLOTS)
        planned = column % AIR_SLOTS * len(used) + np.minimum(planned, max(len(used) - 1, 0))
        return cls(leg, used, first, open_, slot, np.repeat(np.arange(len(used)), np.diff(first, append=len(of_leg))),
                   option[first_flight], *_by_flight(first_flight, cell), planned, leg[leg_first], leg_first, packed,
                   unpacked, (len(schedule.trip), schedule.slots), blocks,
                   None if len(used) == len(looks.hours.at) else looks.hours.number.reshape(-1)[used])

    def of_some(self, wanted: Bools, number: Ints) -> LegBlocks:
        """Return some of the blocks looked at; `number` [cell] tells where each of their cells stands then."""
        keep = wanted if self.of_looked is None else wanted.take(self.of_looked)
        block, of_choice = np.flatnonzero(keep), keep.take(self.block)
        choice, numbers = np.flatnonzero(of_choice), np.cumsum(keep) - 1
        by_rank = np.empty(len(of_choice), dtype=bool)
        by_rank[self.rank] = of_choice
        leg, open_, slot = self.leg.take(block), self.open_.take(block, axis=1), self.slot.take(block, axis=1)
        own_block = numbers.take(self.block.take(choice))
        leg_first, packed = _begins(leg), np.flatnonzero(open_)
        return LegBlocks(
            leg, self.at.take(block), _begins(own_block), open_, slot, own_block, self.option.take(choice),
            (np.cumsum(by_rank) - 1).take(self.rank.take(choice)),
            tuple(number.take(cell[by_rank[:len(cell)]]) for cell in self.flown),
            _renumbered(self.planned, keep, numbers), leg.take(leg_first), leg_first, packed,
            leg.take(packed % max(len(block), 1)) * self.shape[1] + slot.reshape(-1).take(packed), self.shape,
            self.blocks, block.astype(np.int32) if self.of_looked is None else self.of_looked.take(block))

    def of_hours(self, values: Array) -> Array:
        """Return values at the hours looked at, [hour, block looked at], as [hour, block]."""
        return values if self.of_looked is None else values.take(self.of_looked, axis=1)

    def of_flights(self, combine: np.ufunc, values: Array) -> Array:
        """Return values [..., cell] of all flights of each choice combined, [..., choice]."""
        # Most have one flight or two: `reduceat`, which goes from choice to choice, takes three times as long.
        first, *later = (values.take(cell, axis=-1) for cell in self.flown)
        if later:
            rest = later[0]
            for part, whole in (*((more, rest) for more in later[1:]), (rest, first)):
                begin = whole[..., :part.shape[-1]]
                combine(begin, part, out=begin)
        return first.take(self.rank, axis=-1)

    def of_legs(self, values: Array) -> Array:
        """Return values [leg, column] at the hours of blocks, [hour, block]."""
        return _by_hour(values).take(self.at, axis=1)

    def columns(self, values: Array) -> Array:
        """Return values [hour, block] as [leg, column], zero where nobody looks; the way back of `of_legs`."""
        legs = self.shape[0]
        whole = np.zeros((AIR_SLOTS, legs * self.blocks), dtype=values.dtype)
        whole[:, self.at] = values
        return np.ascontiguousarray(whole.T).reshape(legs, self.blocks * AIR_SLOTS)

    def spread(self, values: Array, fill: Any = 0) -> Array:
        """Return values [hour, block] as [leg, slot]; `fill` where nobody looks."""
        whole = np.full(self.shape, fill, dtype=values.dtype)
        whole.reshape(-1)[self.unpacked] = values.reshape(-1).take(self.packed)
        return whole


@dataclass(frozen=True, slots=True)
class AirCells:
    """Rows and blocks of hours that some trip may come to, the only ones ever planned; arrays [cell].

    A flight that several itineraries of a leg have in common is planned once: `same` [row] is the first row that is the
    same flight, and only that one has cells. `slot`: air slot of the cell, of `slots` in all. `at`: flat index of the
    cell among [row, block], of `blocks` each. `block`: which of the blocks `looked` at it is in. `open_` [hour, cell]:
    hours looked at. `planned` [row]: flat place of the planned hour of its leg among [hour, cell].
    """

    slots: int
    blocks: int
    row: Ints
    slot: Ints
    leg: Ints
    at: Ints
    block: Ints
    open_: Bools
    planned: Ints
    same: Ints
    legs: LegBlocks
    looked: LookedHours

    @classmethod
    def of(cls, leg: Ints, option: Ints, schedule: Schedule, same: Ints | None = None) -> AirCells:
        """Return the cells of rows that serve legs as flights of itineraries.

        Parameters
        ----------
        leg, option : (row,) arrays       Leg and itinerary of each row, those of an itinerary in flying order.
        schedule : Schedule
        same : (row,) array, optional     The first row of the same leg that is the same flight; else each is its own.
        """
        looks, same = schedule.looks, np.arange(len(leg)) if same is None else same
        blocks = looks.block.shape[1]
        used = np.asarray(looks.open_.reshape(len(looks.open_), blocks, AIR_SLOTS).any(axis=2))
        row, block = np.nonzero(used[leg])
        order = np.lexsort((row, block, leg[row]))
        row, block = row[order], block[order]
        itineraries = leg[row] * blocks + block, option[row]
        flight_at = same[row] * blocks + block
        own = same[row] == row
        row, block = row[own], block[own]
        of_leg, at = leg[row] * blocks + block, flight_at[own]
        number = _numbers(at, len(leg) * blocks)
        column = schedule.planned_column[1][leg]
        planned = column % AIR_SLOTS * len(row) + number[same * blocks + column // AIR_SLOTS]
        of_looked = looks.hours.number.reshape(-1)[of_leg].astype(np.int64)
        return cls(looks.air.shape[1], blocks, row, looks.block[leg[row], block], leg[row], at, of_looked,
                   looks.hours.open_.take(of_looked, axis=1), planned, same,
                   LegBlocks.of(*itineraries, number[flight_at], schedule), looks.hours)

    def of_some(self, wanted: Bools) -> AirCells:
        """Return the cells of some of the blocks looked at, as if nobody came to the others.

        The planned hours of legs whose block is left out, and of their rows, are any.
        """
        keep = wanted.take(self.block)
        cell, number = np.flatnonzero(keep), np.cumsum(keep) - 1
        return replace(self, row=self.row.take(cell), slot=self.slot.take(cell), leg=self.leg.take(cell),
                       at=self.at.take(cell), block=self.block.take(cell), open_=self.open_.take(cell, axis=1),
                       planned=_renumbered(self.planned, keep, number), legs=self.legs.of_some(wanted, number))

    def air(self, air: AirOnRoutes | PackedAir, lane: Ints) -> AirOnRoutes:
        """Return the air in the cells, [cell, level], from that of lanes; `lane` [row] is the one each row flies."""
        return air.at(lane.take(self.row), self.slot)

    def of_hours(self, values: Array) -> Array:
        """Return values at the hours looked at, [hour, block looked at], at those of cells, [hour, cell]."""
        return values.take(self.block, axis=1)

    def spread(self, values: Array, rows: int) -> Array:
        """Return values [cell, ...] as [row, block, ...], zero where nobody looks."""
        whole = np.zeros((rows, self.blocks, *values.shape[1:]), dtype=values.dtype)
        whole.reshape(-1, *values.shape[1:])[self.at] = values
        return whole[self.same]

    def hours(self, values: Array) -> Array:
        """Return values [hour, cell] as [row, column], zero where nobody looks."""
        return self.spread(values.T, len(self.planned)).reshape(len(self.planned), self.blocks * AIR_SLOTS)

    def cell_of(self, leg: Ints, row: Ints, column: Ints) -> Ints:
        """Return the cells of rows, each of its leg, and of columns of theirs that are looked at."""
        rows = len(self.planned)
        # Cells stand in this order; a list with a place for every row and block would be ten times as long.
        return np.searchsorted(self.block * rows + self.row,
                               self.looked.number[leg, column // AIR_SLOTS].astype(np.int64) * rows + self.same[row])


def _renumbered(at: Ints, keep: Bools, number: Ints) -> Ints:
    """Return flat places among [hour, entry] as among those kept, which `number` counts; 0 for the others."""
    hour, entry = np.divmod(at, max(len(keep), 1))
    return np.where(keep.take(entry), hour * np.count_nonzero(keep) + number.take(entry), 0)


def _by_hour(values: Array) -> Array:
    """Return values [leg, column] as [hour of the block, leg and block]."""
    return values.reshape(-1, AIR_SLOTS).T


def _begins(*keys: Ints) -> Ints:
    """Return where runs of alike entries begin."""
    if not len(keys[0]):
        return np.zeros(0, dtype=np.int64)
    new = np.logical_or.reduce([key[1:] != key[:-1] for key in keys])
    return np.concatenate([[0], 1 + np.flatnonzero(new)])


def first_alike(*keys: Array) -> Ints:
    """Return for each entry the first one that has the same keys."""
    order = np.lexsort(keys)
    first = _begins(*(key[order] for key in keys))
    out = np.empty(len(order), dtype=np.int64)
    # The sort keeps the order of those that are alike.
    out[order] = np.repeat(order[first], np.diff(first, append=len(order)))
    return out


def _by_flight(first: Ints, cell: Ints) -> tuple[Ints, tuple[Ints, ...]]:
    """Return the rank of choices by number of flights, and the cells of their first, second ... flights by rank.

    `first` [choice]: place of the first of its flights among those of all, of which `cell` tells where each is planned.
    """
    flights = np.diff(first, append=len(cell))
    order = np.argsort(-flights, kind="stable")
    rank = np.empty(len(order), dtype=np.int64)
    rank[order] = np.arange(len(order))
    some = [first[order[:np.count_nonzero(flights > k)]] + k for k in range(max(int(flights.max(initial=1)), 1))]
    return rank, tuple(cell[places] for places in some)


def _numbers(at: Ints, size: int) -> Ints:
    """Return by place the entry that stands there; 0 where none does."""
    number = np.zeros(size, dtype=np.int64)
    number[at] = np.arange(len(at))
    return number
