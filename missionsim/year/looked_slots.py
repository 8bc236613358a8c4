"""Departure slots that somebody may come to, packed: what is planned and held against weather, and nothing else.

A trip that may move by a week has a window of a week, of which a few hours a day are looked at. Arrays over legs have
one column for each hour that is, in blocks of `AIR_SLOTS` hours that share the winds aloft.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints, Ints32

AIR_SLOTS = 3
"""Winds aloft are looked up once for so many departure slots."""


@dataclass(frozen=True, slots=True)
class LookedHours:
    """Blocks of hours that somebody may come to, one after the other: what weather and decisions are worked out in.

    Arrays [hour of the block, block]; blocks in the order of legs, those without any hour looked at left out. `leg`,
    `air` [block]: whose, and which air slot; `at` [block]: flat place among [leg, block of its columns]. `column`: flat
    place among [leg, column]; `open_`: hours looked at. `number` [leg, block of its columns]: which block each is, -1
    for none.
    """

    leg: Ints
    air: Ints
    at: Ints
    column: Ints
    open_: Bools
    number: Ints32

    @classmethod
    def of(cls, looks: LookedSlots) -> LookedHours:
        """Return the hours of packed columns."""
        legs, blocks = looks.block.shape
        at = np.flatnonzero(looks.open_.reshape(-1, AIR_SLOTS).any(axis=1))
        number = np.full(legs * blocks, -1, dtype=np.int32)
        number[at] = np.arange(len(at))
        column = AIR_SLOTS * at + np.arange(AIR_SLOTS)[:, None]
        return cls(at // max(blocks, 1), looks.block.reshape(-1)[at], at, column, looks.open_.reshape(-1).take(column),
                   number.reshape(legs, blocks))

    def of_columns(self, values: Array) -> Array:
        """Return values [leg, column] as [hour, block]."""
        return values.reshape(-1).take(self.column)

    def columns(self, values: Array) -> Array:
        """Return values [hour, block] as [leg, column], zero where nobody looks."""
        legs, blocks = self.number.shape
        whole = np.zeros(legs * blocks * AIR_SLOTS, dtype=values.dtype)
        whole[self.column] = values
        return whole.reshape(legs, blocks * AIR_SLOTS)

    def place(self, leg: Ints | int, column: Ints | int) -> Ints:
        """Return the flat places among [hour, block] of columns of legs that are looked at."""
        return np.asarray(column) % AIR_SLOTS * len(self.at) + self.number[leg, np.asarray(column) // AIR_SLOTS]


@dataclass(frozen=True)
class LookedSlots:
    """Packed columns of legs.

    `slot`, `open_` [leg, column]: departure slot of each column, and whether it is looked at; `block` [leg, block]: air
    slot of each block of columns. `air` [leg, air slot]: some slot in it is looked at. `column` [leg, slot]: column of
    each slot, -1 for slots that are not looked at.
    """

    slot: Ints
    open_: Bools
    block: Ints
    air: Bools
    column: Ints

    @classmethod
    def of(cls, looked_at: Bools, least_blocks: int = 0) -> LookedSlots:
        """Return the columns of slots looked at, [leg, slot]; `least_blocks`: of which there are no fewer."""
        legs, slots = looked_at.shape
        air = np.asarray(looked_at.reshape(legs, slots // AIR_SLOTS, AIR_SLOTS).any(axis=2))
        count = air.sum(axis=1)
        width = min(max(int(count.max(initial=0)), least_blocks, 1), slots // AIR_SLOTS)
        block = np.argsort(~air, axis=1, kind="stable")[:, :width]
        slot = (AIR_SLOTS * block[:, :, None] + np.arange(AIR_SLOTS)).reshape(legs, width * AIR_SLOTS)
        open_ = np.take_along_axis(looked_at, slot, axis=1)
        column = np.full((legs, slots), -1, dtype=np.int64)
        np.put_along_axis(column, slot, np.where(open_, np.arange(slot.shape[1]), -1), axis=1)
        return cls(slot, open_, block, air, column)

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return self.slot.shape[1]

    @cached_property
    def hours(self) -> LookedHours:
        """The columns as blocks of hours, those without any hour looked at left out."""
        return LookedHours.of(self)

    @cached_property
    def _flat(self) -> tuple[Ints, Ints]:
        """Flat places of what is looked at, among [leg, column] and among [leg, slot]."""
        packed = np.flatnonzero(self.open_)
        return packed, packed // max(self.columns, 1) * self.column.shape[1] + self.slot.reshape(-1).take(packed)

    def spread(self, values: Array, fill: Any = 0) -> Array:
        """Return values [leg, column] as [leg, slot]; `fill` where nobody looks."""
        packed, unpacked = self._flat
        whole = np.full(self.column.shape, fill, dtype=values.dtype)
        whole.reshape(-1)[unpacked] = values.reshape(-1).take(packed)
        return whole
