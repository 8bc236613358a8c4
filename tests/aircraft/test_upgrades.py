from __future__ import annotations

import numpy as np
import pytest
from aircraft_cases import NAMES, demo, profile

from missionsim.aircraft.loading import arrange, empty_weight_lb, envelope_points, max_fuel_gal
from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.upgrades import apply_upgrades, catalogue, obstacle
from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import InputError

A = packaged_assumptions()
ALL = catalogue(A)
RETRACTABLE = "retractable_260"


@pytest.mark.parametrize("name", list(ALL))
def test_every_upgrade_has_a_price_range_and_can_be_fitted_or_says_why_not(name):
    upgrade = ALL[name]
    assert 0.0 < upgrade.price_low_usd < upgrade.price_usd < upgrade.price_high_usd
    assert 0.0 <= upgrade.downtime_low_days <= upgrade.downtime_days <= upgrade.downtime_high_days
    for aircraft in NAMES:
        p = demo(aircraft)
        if obstacle(p, upgrade):
            with pytest.raises(InputError):
                apply_upgrades(p, [name], A)
        else:
            upgraded = apply_upgrades(p, [name], A)
            assert upgraded.changes.names == (name,)
            assert empty_weight_lb(upgraded, A) - empty_weight_lb(p, A) == pytest.approx(upgrade.weight_lb)


def test_each_upgrade_is_possible_on_some_aircraft():
    profiles = [profile(), *map(demo, NAMES)]
    assert [name for name in ALL if all(obstacle(p, ALL[name]) for p in profiles)] == []


@pytest.mark.parametrize("aircraft", [RETRACTABLE, "carrier_230"])
def test_three_blades_climb_better_and_cruise_slower_in_both_forms(aircraft):
    p = demo(aircraft)
    old, new = performance_of(p, A), performance_of(apply_upgrades(p, ["three_blades"], A), A)
    assert float(new.cruise(8000.0, 0.0, 2500.0)[0] - old.cruise(8000.0, 0.0, 2500.0)[0]) == pytest.approx(-2.5)
    rates = [float(x.climb_rate_fpm(4000.0, 0.0, 2500.0)) for x in (old, new)]
    assert rates[1] - rates[0] == pytest.approx(40.0)
    assert float(new.takeoff_ft(2000.0, 20.0, 2500.0, 0.0)[1]) < float(old.takeoff_ft(2000.0, 20.0, 2500.0, 0.0)[1])
    assert all(b < a for a, b in zip(old.climb(2000.0, 8000.0, 0.0, 2500.0), new.climb(2000.0, 8000.0, 0.0, 2500.0),
                                     strict=True))
    assert new.ceiling_ft(0.0, 2600.0) >= old.ceiling_ft(0.0, 2600.0)


def test_speed_gains_do_not_add_up():
    both = apply_upgrades(demo(RETRACTABLE), ["speed_kit", "tuned_exhaust"], A).changes.cruise_kt
    assert both == pytest.approx(5.0 + 0.5 * 3.0)
    stepwise = apply_upgrades(apply_upgrades(demo(RETRACTABLE), ["tuned_exhaust"], A), ["speed_kit"],
                              A).changes.cruise_kt
    assert stepwise == pytest.approx(both)


def test_monitor_opens_the_lean_side_of_an_injected_four_but_not_of_a_carburetted_engine():
    assert apply_upgrades(profile(), ["engine_monitor"], A).can_lean
    assert not apply_upgrades(profile(engine__fuel_injected=False), ["engine_monitor"], A).can_lean
    six = profile(engine__cylinders=6)
    assert not apply_upgrades(six, ["engine_monitor"], A).can_lean
    assert apply_upgrades(six, ["engine_monitor", "matched_injectors"], A).can_lean


def test_more_take_off_weight_is_more_fuel_and_a_taller_envelope():
    p = demo(RETRACTABLE)
    heavier = apply_upgrades(p, ["gross_weight_increase"], A)
    assert heavier.max_takeoff_lb == p.max_takeoff_lb + 100.0
    assert envelope_points(heavier)[:, 1].max() == heavier.max_takeoff_lb
    load = 2700.0
    assert max_fuel_gal(heavier, load, A) - max_fuel_gal(p, load, A) == pytest.approx(100 / 6)
    # Book figures stay what they were: the same aircraft at the same weight flies the same.
    same = [performance_of(x, A).cruise(8000.0, 0.0, 2700.0)[0] for x in (p, heavier)]
    assert same[0] == same[1]


def test_long_range_tanks_hold_more_and_keep_the_balance():
    p = apply_upgrades(demo(RETRACTABLE), ["long_range_tanks"], A)
    assert p.usable_gal == 110.0
    assert arrange(p, [[190.0]], [20.0], A, fuel_gal=[110.0]).balance_ok[0]


def test_unknown_and_needless_upgrades_are_faults_all_at_once():
    with pytest.raises(InputError) as caught:
        apply_upgrades(demo("boosted_six"), ["engine_monitr", "lpv_navigator", "three_blades", "ads_b", "ads_b"], A)
    text = str(caught.value)
    assert "Did you mean 'engine_monitor'?" in text
    assert "'lpv_navigator', but the aircraft has it" in text
    assert "has 3 blades" in text
    assert "'ads_b' twice" in text


def test_order_does_not_matter():
    names = ["vortex_generators", "three_blades", "high_compression"]
    a, b = (apply_upgrades(demo(RETRACTABLE), order, A) for order in (names, names[::-1]))
    assert a == b
    np.testing.assert_allclose(a.changes.takeoff_share, 0.955 * 0.95 * 0.93)
