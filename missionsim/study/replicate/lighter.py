"""What the trips of a study may do whose load does not fit, in the order the study gives: gear left behind, by car."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.words import Adaptation
from missionsim.decide.adapt import Lighter, Trips, Ways, without
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.pilot import own
from missionsim.study.prepare.study import Prepared

Array = NDArray[Any]


def lighter_ways(prepared: Prepared, aircraft: Equipped, people_lb: Array, extra_empty_lb: float) -> Ways | None:
    """Return what trips may do whose load does not fit one aircraft; None where the study lets them do nothing.

    Parameters
    ----------
    aircraft : Equipped
    people_lb : (trip, seat) array   Weights of the people of the replication. [lb]
    extra_empty_lb : float           What this one weighs empty beyond its likely weight. [lb]
    """
    order = prepared.study.spec.when_it_does_not_fit
    adults = np.array([t.adults for t in prepared.table], dtype=np.int64)
    # A trip that must be possible with everybody aboard is never made with fewer.
    least = np.array([t.adults if t.adults_least is None or t.must_be_possible else min(t.adults_least, t.adults)
                      for t in prepared.table], dtype=np.int64)
    own_bags_lb = np.array([t.bags_lb for t in prepared.table], dtype=float)

    def ways(short: Trips) -> Iterator[Lighter]:
        gear_lb = prepared.bags_lb - own_bags_lb
        for step in order:
            if step == "leave_gear":
                gear_lb = np.maximum(gear_lb - removable_lb(prepared, aircraft), -aircraft.profile.removable_weight_lb)
                bags_lb = own_bags_lb[short] + gear_lb[short]
                yield Lighter(Adaptation.GEAR_LEFT, short, aircraft.loads(people_lb[short], bags_lb, extra_empty_lb),
                              np.zeros(len(short), dtype=np.int64))
                continue
            for apart in range(1, int((adults - least)[short].max(initial=0)) + 1):
                some = short[(adults - least)[short] >= apart]
                people, bags_lb = without(people_lb[some], own_bags_lb[some], adults[some], apart)
                loads = aircraft.loads(people, bags_lb + gear_lb[some], extra_empty_lb)
                yield Lighter(Adaptation.FEWER_ABOARD, some, loads, np.full(len(some), apart))

    return ways if order else None


def removable_lb(prepared: Prepared, aircraft: Equipped) -> float:
    """Return what can be left behind: the profile's removable items, and a part of what always flies along. [lb]"""
    gear_lb = own(prepared.study.pilot, "gear_lb", prepared.study.assumptions)
    return aircraft.profile.removable_weight_lb + min(gear_lb, float(prepared.study.assumptions["pilot.gear_left_lb"]))
