"""What drawn figures and the upkeep of a replication come to, by hand."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from aircraft_cases import profile
from money_cases import candidate

from missionsim.base.normal import normal_quantile
from missionsim.base.streams import generator
from missionsim.base.words import Stream
from missionsim.study.unknowns import effects as under_test
from missionsim.study.unknowns.draws import YES_NO, Drawn, Listing, Unsaid
from missionsim.study.unknowns.effects import effects_of
from missionsim.study.unknowns.routines import Routines
from missionsim.study.unknowns.upkeep import annual_window_h, upkeep_rule

AIRCRAFT = profile(engine__hours_since_overhaul_h=500.0)


def drawn_of(of, assumptions, **values):
    """Return two replications in which figures of an aircraft are drawn; dots are written as double underscores."""
    values = {key.replace("__", "."): np.array(both, dtype=float) for key, both in values.items()}
    unsaid = tuple(Unsaid(key, "", "", YES_NO, None) for key in values)
    return Drawn(Listing(of, 2025, assumptions, unsaid), 2, values)


def test_an_orphan_takes_longer_to_mend_and_a_dead_autopilot_is_out(assumptions):
    found = effects_of(drawn_of(AIRCRAFT, assumptions, identity__maker_supports=(1, 0), panel__autopilot_works=(1, 0)))
    assert found.repair_factor.tolist() == [1.0, assumptions["unknown.orphan_repair_factor"]] == [1.0, 1.25]
    assert found.autopilot_out.tolist() == [False, True]
    assert found.at(1).upkeep_rule(upkeep_rule(AIRCRAFT, candidate("F4"), assumptions)).repair_factor == 1.25


def test_a_faster_airframe_flies_in_proportion_to_the_one_planned(assumptions):
    planned = assumptions["aircraft.cruise_speed_of_book_share"]
    drawn = drawn_of(profile(), assumptions, state__cruise_speed_of_book_share=(planned, 1.1 * planned))
    assert under_test._speed_share(drawn).tolist() == pytest.approx([1.0, 1.1])


def test_a_useful_load_makes_the_empty_weight(assumptions):
    # 2,500 lb less 1,000 is the 1,500 lb planned; 40 lb less useful load are 40 lb more of empty weight.
    drawn = drawn_of(profile(), assumptions, weights__useful_load_lb=(1000.0, 960.0))
    assert under_test._extra_empty_lb(drawn).tolist() == [0.0, 40.0]


def test_missing_logs_cost_more_than_the_mean_that_a_silent_listing_supposes(assumptions):
    shares, lost = assumptions["unknown.state_logs_complete"], assumptions["unknown.value_lost_share"]["logs_missing"]
    mean = lost * shares["no"] / sum(shares.values())
    found = under_test.value_lost_share(drawn_of(profile(), assumptions, state__logs_complete=(1, 0)))
    assert found.tolist() == pytest.approx([-mean, lost - mean])


def test_an_annual_runs_out_with_its_month():
    # May: the first day of April, a month early, to the last of May: 90 and 151 days.
    assert annual_window_h(4, 1.0) == (90 * 24.0, 151 * 24.0)
    assert annual_window_h(0, 2.0) == (0.0, 31 * 24.0)


@pytest.mark.parametrize(("months", "due_day"), [(9.5, 90), (0.0, 365), (11.9, 31)])
def test_months_since_the_annual_say_with_which_month_the_next_runs_out(assumptions, months, due_day):
    # 9.5 months ago: in the third month from now, so with March.
    rule = replace(upkeep_rule(AIRCRAFT, candidate("F4"), assumptions), months_since_annual=months)
    assert rule.upkeep(1, 0).annual_due_h == due_day * 24.0


def test_faults_that_may_be_flown_with_come_on_top_of_those_that_ground(assumptions):
    rule = upkeep_rule(AIRCRAFT, candidate("F4"), assumptions)
    every_h = assumptions["maintenance.grounding_interval_h"]["F4"]
    assert rule.fault_interval_h == every_h
    share = assumptions["maintenance.deferrable_share"]
    assert rule.upkeep(1, 0).fault_mean_h == pytest.approx(every_h * (1.0 - share))
    twin = upkeep_rule(AIRCRAFT, candidate("F4", engines=2), assumptions)
    assert twin.fault_interval_h == pytest.approx(every_h / assumptions["maintenance.twin_fault_factor"])


def test_repair_times_have_their_ten_and_ninety_percent_points(assumptions):
    entry = assumptions.entry("maintenance.repair_days")
    upkeep = upkeep_rule(AIRCRAFT, candidate("F4"), assumptions).upkeep(1, 0)
    # Half of the way between the logarithms of the points, over 1.2816 deviations.
    assert upkeep.repair_sigma == pytest.approx(np.log(entry.high / entry.low) / 2 / 1.2815516)


@pytest.mark.parametrize(("instrument", "minutes"), [(True, 6.0), (False, 3.0)])
def test_an_instrument_flight_has_its_approach_and_a_visual_one_its_pattern(instrument, minutes):
    rules = SimpleNamespace(instrument=instrument)
    plan = SimpleNamespace(times=None, pilot=SimpleNamespace(rules=rules, limits=None))
    given = {}

    def taken(thing, **values):
        given.update(values)
        return thing

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("missionsim.study.unknowns.routines.replace", taken)
        Routines(taxi_h=0.3, stop_h=0.75, approach_h=0.1, pattern_h=0.05, as_likely=False).applied(plan)
    assert given["approach_h"] * 60.0 == pytest.approx(minutes)


def test_years_asked_for_in_any_order_have_the_luck_of_their_own_stream(assumptions):
    rule = replace(upkeep_rule(AIRCRAFT, candidate("F4"), assumptions), oil_since_h=None)
    for replication, year in ((5, 0), (2, 1), (5, 0), (9, 0), (2, 0), (7, 3), (2, 1)):
        found = rule.upkeep(4, replication, year)
        ranks = generator(4, replication, Stream.STATE, *([year] if year else [])).random(4)
        assert found.oil_since_h == ranks[0] * found.oil_interval_h
        annual = assumptions.entry("maintenance.annual_days")
        sigma = 0.5 * np.log(annual.high["F4"] / annual.low["F4"]) / normal_quantile(0.9)
        assert found.annual_down_h == pytest.approx(
            24.0 * annual.value["F4"] * np.exp(sigma * normal_quantile(ranks[2])), rel=1e-12)
