"""What a candidate may do in a replication, leg by leg and slot by slot, and what is looked up only when it happens."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from missionsim.base.arrays import Array, Bits, Bools, Codes, Ints32
from missionsim.base.axes import APART, axis


class FairLook(Protocol):
    """When an aircraft without passengers may be brought over: looked up only when one stands where it should not."""

    def next_fair_h(self, from_place: int, to_place: int, time_h: float) -> float:
        """Return the first hour at or after a time in which both places are above minima, by day."""
        ...

    def lets_through(self, from_place: int, to_place: int, depart_h: float, flight_h: float) -> bool:
        """Tell whether one place is above minima at departure and the other on arrival.

        Parameters
        ----------
        from_place, to_place : int   Numbers of places.
        depart_h : float             UTC hours since the year began. [h]
        flight_h : float             From one to the other. [h]
        """
        ...


class DiversionLook(Protocol):
    """Where an arrival below minima goes instead: looked up only when one happens."""

    def diversion(self, leg: int, slot: int) -> tuple[int, float]:
        """Return the place gone to, and the hours after arrival until the destination is above minima."""
        ...


class NeverBelow:
    """For weather in which no arrival is below minima."""

    def diversion(self, leg: int, slot: int) -> tuple[int, float]:
        """Refuse to answer."""
        raise ValueError(f"leg {leg} in slot {slot} is below minima on arrival, but nothing says where it goes")


NEVER_BELOW = NeverBelow()


@dataclass(frozen=True, slots=True)
class Decisions:
    """What one candidate may do in one replication, arrays [leg, slot] unless said otherwise.

    `next_go` [leg, slots + 1]: first slot at or after this one in which the leg goes; `slots` when none.
    `reasons`: bit mask of what is in the way; `structural` [trip]: bits that no hour of a leg's window escapes.
    `option`: itinerary flown; `block_h`, `flight_h`: whole leg, fuel stops included in block.
    `below`: weather below landing minima on arrival; `diverts`: where it goes then.
    `marks`: set of `words.Mark` that a flight then leaves on its trip.
    `ends`: where a flight under visual rules ends that cannot go on: 1 + the place, 0 for as planned; `met_below`: it
    met less than the legal minima on the way. None where nobody flies so.
    `early_look` [leg]: the planned hour looks bad beforehand, so that earlier slots are considered; `evening_look`
    [leg]: by its ceilings and visibility as forecast the evening before, so that this evening is.
    `fair`: weather for bringing over an empty aircraft; without it every hour will do.
    """

    next_go: NDArray[np.int16] = axis(APART)
    reasons: Bits = axis("leg_slot")
    structural: Bits = axis(APART)
    option: NDArray[np.int16] = axis("leg_slot")
    block_h: Array = axis("leg_slot")
    flight_h: Array = axis("leg_slot")
    below: Bools = axis("leg_slot")
    early_look: Bools = axis(APART)
    evening_look: Bools = axis(APART)
    marks: Codes = axis("leg_slot")
    ends: Ints32 | None = axis("leg_slot", default=None)
    met_below: Bools | None = axis("leg_slot", default=None)
    diverts: DiversionLook = axis(APART, default=NEVER_BELOW)
    fair: FairLook | None = axis(APART, default=None)
