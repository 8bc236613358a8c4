"""A short leg flown twice because not all of the load fits: out, back with the pilot alone, out again with the rest.

The second run begins when the aircraft is back; both runs and all hours between them must be fit to fly. The flight
back is planned coarsely, in still air.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from missionsim.base.arrays import Array, Bits, Bools, Ints
from missionsim.base.words import BIT, Adaptation, Reason
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.year.schedule import Schedule


@dataclass(frozen=True)
class TwiceFlown:
    """Legs [n] flown in two runs.

    `leg`: which; `later` [n]: whole hours from the first run's departure to the second's, by the usual block time.
    `back_flight_h`, `back_gal`, `back_nm` [n]: of the flight between them.
    """

    plan: CandidatePlan
    schedule: Schedule
    leg: Ints

    @classmethod
    def of_trips(cls, plan: CandidatePlan, schedule: Schedule, how: Array) -> TwiceFlown:
        """Return the legs of the trips whose `Adaptation` says so."""
        return cls(plan, schedule, np.flatnonzero((how == Adaptation.TWO_RUNS)[schedule.trip]))

    @cached_property
    def back_nm(self) -> Array:
        """Miles of the flight back: those of the leg's first itinerary."""
        options = self.plan.options
        whole_nm = np.add.reduceat(self.plan.table.rows.distance_nm, options.first_row[:-1])
        return whole_nm[options.of_leg[self.leg, 0]]

    @cached_property
    def back_flight_h(self) -> Array:
        """Hours of the flight back. [h]"""
        return self.plan.coarse.hours(self.back_nm, 0.0) + self.plan.times.approach_h

    @cached_property
    def back_gal(self) -> Array:
        """Fuel of the flight back, taxi included. [gal]"""
        coarse = self.plan.coarse
        return (coarse.gallons(self.back_nm, 0.0) + self.plan.times.approach_h * coarse.fuel_flow_gph
                + self.plan.fuel.taxi_gal)

    @cached_property
    def more_h(self) -> Array:
        """Hours on the ground, twice, and of the flight back, movement included. [h]"""
        return self.back_flight_h + self.plan.times.taxi_h + 2.0 * self.plan.times.ground_h

    @cached_property
    def later(self) -> Ints:
        """Whole hours from the first departure to the second. [h]"""
        return np.ceil(self.plan.times.nominal_block_h[self.leg] + self.more_h - 1e-9).astype(np.int64)

    def hours(self, flight_h: Array, block_h: Array) -> tuple[Array, Array]:
        """Return flight and block hours [hour, block] of both runs and the flight between, from those of one."""
        return (self._changed(flight_h, lambda one_h: 2.0 * one_h + self.back_flight_h[:, None]),
                self._changed(block_h, lambda one_h: 2.0 * one_h + self.more_h[:, None]))

    def through(self, bits: Bits) -> Bits:
        """Return bits [hour, block], for these legs of all hours from the first run's to the second's departure.

        Past the window it is `duty`.
        """
        return self._changed(bits, self._through)

    def second(self, values: Array) -> Array:
        """Return values [hour, block], for these legs of the second run's hour; zero past the window."""
        return self._changed(values, self._second)

    def of_either(self, values: Array | None) -> Array | None:
        """Return values [hour, block], for these legs of the first run and where they are zero there of the second."""
        return None if values is None else self._changed(values, lambda first: np.where(first != 0, first,
                                                                                        self._second(first)))

    def with_stops(self) -> Ints:
        """Return the itineraries of these legs that have a fuel stop: nobody flies those twice."""
        options = self.plan.options
        return np.flatnonzero((np.diff(options.first_row) > 1) & np.isin(options.leg, self.leg))

    def _changed(self, values: Array, change: Callable[[Array], Array]) -> Array:
        """Return values [hour, block] with those of these legs, as [n, column], changed."""
        if not len(self.leg):
            return values
        blocks = self.plan.cells.legs
        columns = blocks.columns(values)
        columns[self.leg] = change(columns[self.leg])
        return blocks.of_legs(columns)

    def _through(self, bits: Bits) -> Bits:
        out = bits.copy()
        for k in range(1, int(self.later.max(initial=0)) + 1):
            column = self._column(k)
            then = np.where(column >= 0, np.take_along_axis(bits, np.maximum(column, 0), axis=1),
                            np.uint32(BIT[Reason.DUTY]))
            out |= np.where((k <= self.later)[:, None], then, np.uint32(0))
        return out

    def _second(self, values: Array) -> Array:
        column = self._column(self.later[:, None])
        return np.where(column >= 0, np.take_along_axis(values, np.maximum(column, 0), axis=1),
                        np.zeros((), values.dtype))

    def _column(self, hours: int | Ints) -> Ints:
        """Return the column so many hours after each, [n, column]; -1 where nobody looks."""
        slot = self.schedule.looks.slot[self.leg] + hours
        inside = slot < self.schedule.slots
        column = self.schedule.looks.column[self.leg[:, None], np.where(inside, slot, 0)]
        return np.where(inside, column, -1)


def in_two(people_lb: Array, bags_lb: Array, adults: Ints) -> tuple[tuple[Array, Array], tuple[Array, Array], Ints]:
    """Return people and bags of the first and of the second run, and how many come with the second beside the pilot.

    Every second one of those beside the pilot comes later, and the bags make both runs as heavy as each other. Children
    wait with an adult: with one adult beside the pilot all go first, and the bags follow.

    Parameters
    ----------
    people_lb : (n, seats) array   Pilot, other adults, children; 0 for nobody.
    bags_lb : (n,) array           What is shared out.
    adults : (n,) array            Of the people, pilot included.
    """
    place = np.arange(people_lb.shape[1])[None, :]
    aboard = people_lb > 0.0
    splits = (adults >= 3) | (aboard.sum(axis=1) == adults)
    follow = aboard & (place > 0) & (place % 2 == 0) & splits[:, None]
    first, second = np.where(follow, 0.0, people_lb), np.where(follow | (place == 0), people_lb, 0.0)
    lighter_lb = first.sum(axis=1) - second.sum(axis=1)
    later_lb = np.clip(0.5 * (bags_lb + lighter_lb), 0.0, np.maximum(bags_lb, 0.0))
    return (first, bags_lb - later_lb), (second, later_lb), follow.sum(axis=1)


def may_split(people: Ints, adults: Ints) -> Bools:
    """Tell which parties can be parted: nobody leaves children without an adult while the pilot flies back."""
    return (adults >= 2) | (people == adults)
