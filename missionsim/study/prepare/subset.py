"""Some trips out of a prepared study: the same plans, gates and lanes, cut down to the trips that a year wants.

A study prepared with years of possible trips can so be flown a year at a time, at the cost of that year alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from missionsim.base.arrays import Ints
from missionsim.base.axes import take
from missionsim.decide.candidate_plan import CandidatePlan, FieldRows, OptionIndex
from missionsim.decide.cells import AirCells
from missionsim.study.prepare.lanes import LaneSet
from missionsim.study.prepare.study import Prepared
from missionsim.year.schedule import Schedule


def subset(prepared: Prepared, trips: Ints) -> Prepared:
    """Return a prepared study with some of its trips, in the order given.

    Parameters
    ----------
    prepared : Prepared
    trips : (n,) int array   Rows of its trip table.
    """
    schedule = subset_schedule(prepared.schedule, trips)
    legs = legs_of(prepared.schedule, trips)
    rental = prepared.rental
    plans = [f.plan for f in prepared.flyers] + [f.standby.plan for f in prepared.flyers if f.standby is not None]
    plans += [] if rental is None else [rental.flyers[0].plan]
    cut = [_subset_plan(plan, schedule, trips, legs) for plan in plans]
    lane_sets, cut = _subset_lanes(prepared.lane_sets, cut)
    spare = iter(cut[len(prepared.flyers):])
    flyers = tuple(replace(f, plan=plan, standby=f.standby and replace(f.standby, plan=next(spare)))
                   for f, plan in zip(prepared.flyers, cut, strict=False))
    made = replace(
        prepared, table=replace(prepared.table, trips=tuple(prepared.table[int(k)] for k in trips)), schedule=schedule,
        lane_sets=lane_sets, sky=prepared.sky.of_legs(legs, schedule, cut), flyers=flyers,
        people_lb=prepared.people_lb[trips], bags_lb=prepared.bags_lb[trips],
        terms=take(prepared.terms, "trip", trips))
    if rental is None:
        return made
    return replace(made, rental=made.flown_by(replace(rental.flyers[0], plan=cut[-1]), len(plans) - 1))


def legs_of(schedule: Schedule, trips: Ints) -> Ints:
    """Return the legs of some trips, trip by trip."""
    if not len(trips):
        return np.zeros(0, dtype=np.int64)
    return np.concatenate([np.arange(schedule.first_leg[k], schedule.first_leg[k + 1]) for k in trips])


def subset_schedule(schedule: Schedule, trips: Ints) -> Schedule:
    """Return the schedule of some trips."""
    legs = legs_of(schedule, trips)
    counts = schedule.first_leg[trips + 1] - schedule.first_leg[trips]
    first_leg = np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)
    return take(take(schedule, "leg", legs), "trip", trips, first_leg=first_leg,
                least_blocks=schedule.looks.block.shape[1], trip=np.repeat(np.arange(len(trips)), counts))


def _renumbered(old: Ints, chosen: Ints, size: int) -> Ints:
    """Return new numbers for old ones, -1 for those not chosen."""
    new = np.full(size, -1, dtype=np.int64)
    new[chosen] = np.arange(len(chosen))
    return np.asarray(np.where(old >= 0, new[old], -1))


def _subset_plan(plan: CandidatePlan, schedule: Schedule, trips: Ints, legs: Ints) -> CandidatePlan:
    leg_count = len(plan.options.of_leg)
    options = plan.options.of_leg[legs]
    chosen = options[options >= 0]
    first = plan.options.first_row
    counts = first[chosen + 1] - first[chosen]
    row = np.concatenate([np.arange(first[o], first[o + 1]) for o in chosen]) if len(chosen) else chosen
    new_leg = _renumbered(plan.options.leg[chosen], legs, leg_count)
    option = np.repeat(np.arange(len(chosen)), counts)
    leg = new_leg[option]
    index = OptionIndex(np.concatenate([[0], np.cumsum(counts)]).astype(np.int64), new_leg,
                        _renumbered(options, chosen, len(plan.options.leg)), plan.options.visual[chosen])
    cut_rows = take(plan.rows, "row", row, option=option, leg=leg, trip=schedule.trip[leg])
    high = _renumbered(plan.runways.climb, row, len(plan.rows.leg))
    climb = np.argsort(high, kind="stable")[np.count_nonzero(high < 0):]
    runways = replace(plan.runways, takeoff=_subset_fields(plan.runways.takeoff, row, len(plan.rows.leg)),
                      landing=_subset_fields(plan.runways.landing, row, len(plan.rows.leg)),
                      climb=high[climb],
                      climb_cool=plan.runways.climb_cool and take(plan.runways.climb_cool, "field_row", climb))
    cells = AirCells.of(leg, option, schedule, cut_rows.same_flight())
    return take(plan, "row", row, rows=cut_rows, cells=cells, options=index, runways=runways,
                times=take(take(plan.times, "leg", legs), "row", row))


def _subset_fields(fields: FieldRows, row: Ints, size: int) -> FieldRows:
    new = _renumbered(fields.row, row, size)
    keep = np.flatnonzero(new >= 0)
    keep = keep[np.argsort(new[keep], kind="stable")]
    return take(fields, "field_row", keep, row=new[keep])


def _subset_lanes(lane_sets: Sequence[LaneSet], plans: Sequence[CandidatePlan],
                  ) -> tuple[tuple[LaneSet, ...], list[CandidatePlan]]:
    """Return the lane sets with the lanes still used, and the plans pointing at them."""
    out, cut = [], list(plans)
    for number, lanes in enumerate(lane_sets):
        users = [i for i, plan in enumerate(plans) if plan.rows.lane_set == number]
        used = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *(plans[i].rows.lane for i in users)]))
        for i in users:
            lane = np.searchsorted(used, plans[i].rows.lane)
            cut[i] = replace(plans[i], rows=replace(plans[i].rows, lane=lane))
        out.append(take(lanes, "lane", used))
    return tuple(out), cut
