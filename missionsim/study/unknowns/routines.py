"""How long this pilot takes on the ground and in the approach at these airports: nobody knows, so it is drawn.

One value a replication for all candidates, kept through an ownership, as an open figure of a listing is. A routine that
the study gives as a number is a point. Fuel of taxi and approach, and where stops lie, stay those of the likely ones.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions
from missionsim.base.words import Stream
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.study.unknowns.draws import between_at, deviates, stratified_together

ROUTINES = ("flight.taxi_out_min", "flight.taxi_in_min", "flight.fuel_stop_min", "flight.approach_min",
            "flight.pattern_min")
"""Assumptions drawn by replication, in minutes."""


@dataclass(frozen=True, slots=True)
class Routines:
    """The routines of one replication, in hours: taxi out and in, a fuel stop, an approach by instruments, a pattern.

    `as_likely`: all at their likely values, so that plans stay as they are.
    """

    taxi_h: float
    stop_h: float
    approach_h: float
    pattern_h: float
    as_likely: bool

    def applied(self, plan: CandidatePlan) -> CandidatePlan:
        """Return a plan flown with these routines."""
        if self.as_likely:
            return plan
        approach_h = self.approach_h if plan.pilot.rules.instrument else self.pattern_h
        times = replace(plan.times, taxi_h=self.taxi_h, ground_h=self.stop_h, approach_h=approach_h)
        limits = replace(plan.pilot.limits, taxi_h=self.taxi_h)
        return replace(plan, times=times, pilot=replace(plan.pilot, limits=limits))


def drawn_routines_min(seed: int, replications: Sequence[int], assumptions: Assumptions) -> dict[str, Floats]:
    """Return the routines that are open, by key and replication. [min]"""
    entries = [assumptions.entry(key) for key in ROUTINES]
    drawn = [e for e in entries if not (e.low is None or e.high is None or e.low == e.high
                                        or (e.overridden and not e.ranged))]
    z = deviates(stratified_together(seed, replications, "", [e.key for e in drawn], Stream.ROUTINES))
    return {e.key: between_at(own, e.low, e.value, e.high, money=True) for e, own in zip(drawn, z, strict=True)}


def routines_of(seed: int, replications: Sequence[int], assumptions: Assumptions) -> list[Routines]:
    """Return the routines of replications; those of a chunk take little longer to draw than those of one."""
    drawn = drawn_routines_min(seed, replications, assumptions)
    alike = np.ones(len(replications))
    every = ((drawn[key] if key in drawn else assumptions[key] * alike).tolist() for key in ROUTINES)
    return [Routines((out + back) / 60.0, stop / 60.0, approach / 60.0, pattern / 60.0, not drawn)
            for out, back, stop, approach, pattern in zip(*every, strict=True)]
