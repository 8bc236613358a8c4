"""Departure slots that somebody may come to, packed: what is planned and held against weather, and nothing else.

A trip that may move by a week has a window of a week, of which a few hours a day are looked at. Arrays over legs have
one column for each hour that is, in blocks of `AIR_SLOTS` hours that share the winds aloft.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints

AIR_SLOTS = 3
"""Winds aloft are looked up once for so many departure slots."""


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
