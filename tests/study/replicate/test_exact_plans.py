"""A year's batch plans against plans made at the very weight, temperature and runway of each flight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.words import BIT, Reason
from missionsim.decide.decide import decide
from missionsim.decide.leg_weather import leg_weather
from missionsim.flight.leg import by_level
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.exact_plans import AskedFlights, exact_rows
from missionsim.study.replicate.one_year import weather_of
from missionsim.year.looked_slots import AIR_SLOTS

REPLICATIONS, PER_CANDIDATE = 4, 63
"""Four candidates, four replications, 63 flights each: 1,008 cases."""
WIND, RUNWAY = BIT[Reason.WIND], BIT[Reason.RUNWAY]


@dataclass(frozen=True)
class Cases:
    """Batch and exact plans of the same flights at the same hours, arrays [n]."""

    batch_h: np.ndarray
    exact_h: np.ndarray
    batch_gal: np.ndarray
    exact_gal: np.ndarray
    batch_level_h: np.ndarray
    batch_bits: np.ndarray
    exact_bits: np.ndarray


@pytest.fixture(scope="module")
def cases() -> Cases:
    # Without tolerance, so that no flight near an edge hides behind it; it is the same edge a little lower.
    prepared = prepare(load_study().with_(assumptions={"flight.own_rule_tolerance_share": 0.0}))
    random = np.random.default_rng(20_250_101)
    parts = []
    for replication in range(REPLICATIONS):
        day = weather_of(prepared, replication)
        parts += [_of_candidate(prepared, day, number, random) for number in range(len(prepared.flyers))]
    return Cases(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def _of_candidate(prepared: Any, day: Any, number: int, random: np.random.Generator) -> tuple[np.ndarray, ...]:
    plan, schedule = prepared.flyers[number].plan, prepared.schedule
    loads = plan.aircraft.loads(day.people_lb, prepared.bags_lb)
    lane, every = plan.rows.lane, day.air[plan.rows.lane_set]
    air = plan.cells.air(every, lane)
    gates, fields = prepared.sky.gates[number], prepared.sky.fields[number]
    weather = leg_weather(plan, gates, fields, schedule, day.sky, day.enroute, air)
    _, batch = decide(plan, schedule, air, day.sky, weather, loads)
    row = random.integers(0, len(lane), PER_CANDIDATE)
    leg = plan.rows.leg[row]
    looks = schedule.looks
    open_ = looks.open_[leg]
    slot = np.where(open_, random.random(open_.shape), -1.0).argmax(axis=1)    # any of the columns looked at
    place = looks.hours.place(leg, slot)
    at, hour = slot // AIR_SLOTS, looks.slot[leg, slot]
    own = every.at(lane[row], hour // AIR_SLOTS).mapped(lambda values: values[:, None])
    blocked = plan.cells.spread(weather.blocked_levels, len(lane))
    asked = AskedFlights(row, schedule.start_h[leg] + plan.rows.offset_h[row] + hour, own,
                         weather.alternate_gal.take(place), blocked[row, at][:, None])
    exact = exact_rows(plan, prepared.places, asked, day.sky, loads)
    cell, nth = plan.cells.cell_of(leg, row, slot), slot % AIR_SLOTS
    level = batch.plans.level[cell]
    each = by_level(exact.exact.table, own)
    pick = np.arange(PER_CANDIDATE), level
    # In a year the wind at both ends of a leg is judged once for the leg, and at fuel stops only where runways are
    # short: it is compared on flights without a stop.
    wind = weather.reasons.take(place) & np.uint32(WIND)
    ends = (plan.rows.from_place[row] == schedule.from_place[leg]) & (plan.rows.to_place[row] == schedule.to_place[leg])
    batch_bits, own_bits = (np.where(ends, bits | wind, bits & ~np.uint32(WIND))
                            for bits in (batch.reasons[nth, cell] & ~np.uint32(BIT[Reason.TURBULENCE]), exact.bits))
    return (batch.plans.flight_h[cell], exact.exact.plans.flight_h[:, 0], batch.plans.fuel_gal[cell],
            each.flown.fuel_gal[pick], each.flown.flight_h[pick], batch_bits, own_bits)


def test_a_thousand_cases_are_looked_at_and_most_of_them_fly(cases):
    assert len(cases.batch_h) >= 1000
    assert (_both_go(cases)).mean() > 0.5


def test_times_at_the_level_flown_agree_within_one_percent(cases):
    go = _both_go(cases)
    off = np.abs(cases.batch_h[go] / cases.batch_level_h[go] - 1.0)
    assert np.quantile(off, 0.995) < 0.01
    assert off.max() < 0.015


def test_fuel_at_the_level_flown_agrees_within_three_tenths_of_a_gallon(cases):
    go = _both_go(cases)
    off = np.abs(cases.batch_gal[go] - cases.exact_gal[go])
    assert (off < 0.3).mean() >= 0.99
    assert off.max() < 0.015 * cases.exact_gal[go].max()


def test_another_level_is_chosen_only_where_two_are_good_enough(cases):
    # Each takes the lowest level within a share of its own best; the two may differ by that, and by what they err.
    go, spare = _both_go(cases), packaged_assumptions()["flight.level_spare_share"]
    assert np.abs(cases.batch_level_h[go] / cases.exact_h[go] - 1.0).max() < spare + 0.005


def test_going_is_the_same_in_995_of_1000_cases_and_reasons_in_985(cases):
    # Where the wind closes the long runway and leaves a short one, the year says wind, an exact plan both.
    batch, exact = (np.where(bits & WIND, bits & ~np.uint32(RUNWAY), bits)
                    for bits in (cases.batch_bits, cases.exact_bits))
    assert ((batch == 0) == (exact == 0)).mean() >= 0.995
    # Where both refuse, a flight far over every limit may be told by another of them.
    differ = np.flatnonzero(batch != exact)
    assert 1.0 - len(differ) / len(batch) >= 0.985, [(int(batch[i]), int(exact[i])) for i in differ]


def _both_go(cases: Cases) -> np.ndarray:
    return np.asarray((cases.batch_bits == 0) & (cases.exact_bits == 0))
