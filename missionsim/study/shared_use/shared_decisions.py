"""What one candidate may do for all people of a group in a replication: the decisions of each part, joined."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, cast

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.axes import fields_along
from missionsim.decide.adapt import Adapted
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.decide import RowPlans, decide
from missionsim.decide.leg_weather import leg_weather
from missionsim.decide.two_runs import TwiceFlown
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.study import Prepared
from missionsim.study.replicate.lighter import drained_lb, lighter_ways
from missionsim.study.replicate.one_year import plan_for
from missionsim.study.shared_use.groups import SharedTrips, starts
from missionsim.study.unknowns.effects import OneEffect
from missionsim.study.unknowns.routines import Routines
from missionsim.year.aircraft import TripLimits
from missionsim.year.decisions import Decisions, DiversionLook
from missionsim.year.schedule import Schedule


@dataclass(frozen=True)
class SharedDecisions:
    """What one candidate may do for all people in a replication: decisions by the shared schedule, who flies what.

    `number`: the candidate.
    """

    number: int
    decisions: Decisions
    rows: tuple[RowPlans, ...]
    plans: tuple[CandidatePlan, ...]
    limits: tuple[TripLimits, ...]
    nominal_block_h: Array


def decide_together(shared: SharedTrips, number: int, effects: OneEffect, routines: Routines) -> SharedDecisions:
    """Return the decisions of one candidate.

    Parameters
    ----------
    shared : SharedTrips     Trips of all groups in one replication.
    number : int             Row of the candidate.
    effects : OneEffect      What the figures drawn for the replication do.
    routines : Routines      Of the replication.
    """
    decisions, rows, plans = [], [], []
    for part, day in zip(shared.parts, shared.days, strict=True):
        gated = plan_for(part.entrants[number], effects)
        plan, gate = routines.applied(gated.plan), gated.gate_row
        people_lb, bags_lb = _loads_of(part, day.people_lb, plan)
        extra_lb = effects.extra_empty_lb - drained_lb(part, part.flyers[number].candidate.profile)
        loads = plan.aircraft.loads(people_lb, bags_lb, np.resize(extra_lb, len(bags_lb)))
        air = plan.cells.air(day.air[plan.rows.lane_set], plan.rows.lane)
        weather = leg_weather(plan, part.sky.gates[gate], part.sky.fields[gate], part.schedule, day.sky,
                              day.enroute, air)
        ways = lighter_ways(part, cast("Equipped", plan.aircraft), day.people_lb, extra_lb)
        found, found_rows = decide(plan, part.schedule, air, day.sky, weather, loads, ways)
        decisions.append(found)
        rows.append(found_rows)
        plans.append(plan)
    block_h = [_usual_block_h(plan, part.schedule, found.gave_up)
               for part, plan, found in zip(shared.parts, plans, rows, strict=True)]
    limits = tuple(plan.pilot.limits for part, plan in zip(shared.parts, plans, strict=True)
                   for _ in range(part.schedule.trips))
    return SharedDecisions(number, _joined_decisions(decisions, shared.schedule.slots), tuple(rows), tuple(plans),
                           limits, np.concatenate(block_h))


def _usual_block_h(plan: CandidatePlan, schedule: Schedule, gave_up: Adapted) -> Array:
    """Return the usual block hours of legs, longer where they are flown twice: that long the aircraft is held."""
    block_h, twice = plan.times.nominal_block_h.copy(), TwiceFlown.of_trips(plan, schedule, gave_up.how)
    block_h[twice.leg] = 2.0 * block_h[twice.leg] + twice.more_h
    return block_h


def _loads_of(part: Prepared, people_lb: Array, plan: CandidatePlan) -> tuple[Array, Array]:
    """Return weights by trip, followed by those with the crew alone where some legs are flown empty."""
    if not (plan.rows.trip >= part.schedule.trips).any():
        return people_lb, part.bags_lb
    crew = int(plan.rows.people[plan.rows.trip >= part.schedule.trips].min())
    alone = people_lb.copy()
    alone[:, crew:] = 0.0
    gear_lb = part.bags_lb - np.array([trip.bags_lb for trip in part.table])
    return np.concatenate([people_lb, alone]), np.concatenate([part.bags_lb, gear_lb])


@dataclass(frozen=True, slots=True)
class _SharedDiversions:
    """Diversions of all people, legs numbered as in the shared schedule; satisfies `year.schedule.DiversionLook`."""

    first_leg: tuple[int, ...]
    parts: tuple[DiversionLook, ...]

    def diversion(self, leg: int, slot: int) -> tuple[int, float]:
        """Return what the leg's own part says."""
        i = bisect_right(self.first_leg, leg) - 1
        return self.parts[i].diversion(leg - self.first_leg[i], slot)


def _joined_decisions(parts: Sequence[Decisions], slots: int) -> Decisions:
    def stacked(name: str) -> Any:
        known = [value for value in (getattr(d, name) for d in parts) if value is not None]
        if not known:
            return None
        none = np.zeros((), known[0].dtype)
        return np.concatenate([_padded(np.broadcast_to(none, d.reasons.shape) if getattr(d, name) is None
                                       else getattr(d, name), slots) for d in parts])

    go = [np.where(d.next_go == d.next_go.shape[1] - 1, slots, d.next_go) for d in parts]
    next_go = np.concatenate([np.pad(g, ((0, 0), (0, slots + 1 - g.shape[1])), constant_values=slots) for g in go])
    diverts = _SharedDiversions(starts([len(d.reasons) for d in parts]), tuple(d.diverts for d in parts))
    return Decisions(next_go=next_go, structural=np.concatenate([d.structural for d in parts]),
                     early_look=np.concatenate([d.early_look for d in parts]),
                     evening_look=np.concatenate([d.evening_look for d in parts]), diverts=diverts, fair=parts[-1].fair,
                     **{name: stacked(name) for name in fields_along(Decisions, "leg_slot")})


def _padded(values: Array, slots: int) -> Array:
    wide = slots - values.shape[1]
    return values if wide == 0 else np.pad(values, ((0, 0), (0, wide)))
