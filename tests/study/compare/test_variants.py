"""Upgrades flown as variants, the month of the annual, and the party size that changes the choice."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.errors import InputError
from missionsim.study.compare.compare import compare
from missionsim.study.compare.on_request import _changes, party_size, with_tipping, with_upgrades
from missionsim.study.compare.variants import (
    LEAN,
    RATING,
    annual_months,
    payback_years,
    per_hour_usd,
    per_trip_usd,
    upgrades,
    with_upgrade,
)

COUNT = 4


@pytest.fixture(scope="module")
def study():
    return small_study(trips=10, candidates=1)


@pytest.fixture(scope="module")
def found(study):
    return {v.variant: v for v in upgrades(study, COUNT)}


def test_every_upgrade_that_makes_sense_is_flown(study, found):
    assert {"two_axis_autopilot", "three_blades", "engine_monitor", LEAN, RATING} <= set(found)
    assert "lpv_navigator" not in found        # it is on board
    for v in found.values():
        assert v.candidate == study.candidates[0].name
        assert v.price_usd["low"] <= v.price_usd["likely"] <= v.price_usd["high"]


def test_what_changes_no_flight_changes_its_own_cost_alone(found):
    injectors = found["matched_injectors"]
    assert injectors.trips["mean"] == 0.0
    assert injectors.flight_hours["mean"] == 0.0
    # 1,400 installed, 35 % back after five years: lost 182 a year; money at 5 %: 70; the hull premium follows.
    assert injectors.own_usd == pytest.approx(1_400 * 0.65 / 5 + 70, abs=45)
    assert injectors.net_cost_usd["mean"] == pytest.approx(injectors.own_usd, abs=0.05)


def test_payback_and_the_price_of_an_hour_by_hand(found):
    # 4,000 installed, 35 % back after five years: 2,600 lost; 650 a year saved pay for it in four.
    assert payback_years(4_000 * 0.65, 650.0) == pytest.approx(4.0)
    assert payback_years(2_600.0, 0.0) is None
    assert per_hour_usd({"mean": 300.0}, {"mean": -6.0, "low": -8.0, "high": -4.0}) == pytest.approx(50.0)
    assert per_hour_usd({"mean": 300.0}, {"mean": -6.0, "low": -13.0, "high": 1.0}) is None
    assert per_hour_usd({"mean": -300.0}, {"mean": -6.0, "low": -8.0, "high": -4.0}) is None    # cheaper and faster
    assert per_trip_usd({"mean": 300.0}, {"mean": 1.5, "low": 0.5, "high": 2.5}) == pytest.approx(200.0)
    assert per_trip_usd({"mean": 300.0}, {"mean": 1.5, "low": -0.5, "high": 3.5}) is None       # may be chance
    assert per_trip_usd({"mean": -480.0}, {"mean": 0.4, "low": 0.1, "high": 0.7}) is None       # gained for nothing
    assert found["speed_kit"].comes_back_usd == pytest.approx(0.35 * 4_000)
    order = [v.pays for v in found.values()]
    assert order == sorted(order, reverse=True)


def test_speed_saves_hours_and_lean_saves_fuel(found):
    assert found["speed_kit"].flight_hours["mean"] < 0.0
    assert found[LEAN].fuel_gal["mean"] < 0.0
    assert found[LEAN].price_usd["likely"] == 0.0


def test_safety_is_stated_and_never_priced(found):
    belts = found["shoulder_belts"]
    assert "safety" in belts.note
    assert belts.usd_per_trip is None


def test_the_visual_pilot_makes_fewer_trips(found):
    assert found[RATING].trips["mean"] <= 0.0


def test_a_candidate_with_an_upgrade_carries_it(study):
    base = study.candidates[0]
    made = with_upgrade(study, base, "two_axis_autopilot")
    assert made.profile.panel.autopilot == "two_axis"
    assert made.profile.name == base.profile.name      # the same aircraft: its open figures are drawn alike
    assert made.upgrades == ("two_axis_autopilot",)
    with pytest.raises(InputError, match=r"makes no sense|the aircraft has it"):
        with_upgrade(study, base, "lpv_navigator")


def test_a_monitor_opens_the_lean_side(study):
    blind = study.candidates[0].profile.changed({"engine.lean_of_peak": False, "engine.matched_injectors": True})
    made = with_upgrade(study, replace(study.candidates[0], profile=blind), "engine_monitor")
    assert made.profile.cruise.mixture == "lean"
    assert made.profile.engine.monitor


def test_the_annual_costs_trips_in_the_months_that_have_them(study):
    found = annual_months(study, 3)[study.candidates[0].name]
    assert len(found) == 12
    # All ten trips start early in the year: an annual in the second half takes none of them.
    assert max(found[6:]) - min(found[6:]) < 0.5
    assert min(found[:6]) < max(found[6:])


def test_party_size_is_interpolated_between_what_was_flown():
    size = np.array([2.0, 3.0, 4.0])
    costs = np.zeros((3, 2, 4))
    costs[:, 0] = np.array([-300.0, 100.0, 500.0])[:, None]
    (point,) = _changes(["Alder", "Birch"], size, costs)
    assert point["at"] == pytest.approx(2.75, abs=0.01)
    assert (point["from"], point["to"]) == ("Alder", "Birch")
    assert (point["today"], point["placed"]) == (2.0, True)  # as every tipping point says it
    costs[:, 0] = -300.0
    assert _changes(["Alder", "Birch"], size, costs) == ()


@pytest.mark.slow
def test_extras_stand_beside_the_comparison():
    study = small_study(trips=8)
    base = compare(study, 2)
    assert base.upgrades is None
    assert base.rent_or_own is None
    more = with_tipping(with_upgrades(base, 2), 2)
    assert {v.candidate for v in more.upgrades} == set(base.names)
    assert len(more.rent_or_own) == 2
    assert set(more.annual_months) == set(base.names)
    assert isinstance(party_size(study, 2), tuple)
