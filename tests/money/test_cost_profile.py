from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from missionsim.aircraft.profile import Profile
from missionsim.money.cost_profile import aircraft_class, catch_up_usd, cost_profile, engine_key

BASE = {
    "name": "Invented", "identity": {"year": 1978, "gear": "retractable", "seats": 4},
    "weights": {"max_takeoff_lb": 2_740, "empty_weight_lb": 1_700, "empty_arm_in": 45},
    "stations": [{"name": "front", "kind": "seat", "arm_in": 40, "seats": 2},
                 {"name": "rear", "kind": "seat", "arm_in": 75, "seats": 2}],
    "tanks": [{"name": "wings", "usable_gal": 60, "arm_in": 48}],
    "book": {"cruise": [{"level_ft": 8_000, "power_share": 0.75, "tas_kt": 150, "fuel_flow_gph": 10.5}],
             "climb_fpm": 1_000, "takeoff": {"ground_roll_ft": 900, "over_50ft_ft": 1_600},
             "landing": {"ground_roll_ft": 800, "over_50ft_ft": 1_500}},
    "engine": {"rated_hp": 200}, "prices": {"asking_price_usd": 120_000},
}


def profile(**sections):
    return Profile.model_validate({k: (v | sections.get(k, {})) if isinstance(v, dict) else v for k, v in BASE.items()}
                                  | {k: v for k, v in sections.items() if k not in BASE})


@pytest.mark.parametrize(("hp", "cylinders", "seats", "turbo", "retractable", "expected"), [
    (160, 4, 4, False, False, "F4"), (200, 4, 4, False, True, "R4"), (235, 6, 4, False, False, "H4"),
    (285, 6, 6, False, True, "H4"), (310, 6, 6, True, True, "T6"), (200, 4, 4, True, True, "H4"),
    (200, 4, 6, True, True, "T6")])
def test_class_follows_gear_power_boost_and_seats(assumptions, hp, cylinders, seats, turbo, retractable, expected):
    assert aircraft_class(hp, cylinders, seats, turbo=turbo, retractable=retractable,
                          assumptions=assumptions) == expected


def test_engine_tables_follow_power_and_boost(assumptions):
    def key(hp, cylinders, turbo=False):
        return engine_key(hp, cylinders, turbo=turbo, assumptions=assumptions)

    assert [key(200, 4), key(235, 6), key(300, 6), key(310, 6, True)] == ["four", "six", "six_large", "turbo"]
    assert [key(100, 4), key(118, 4), key(150, 4)] == ["four_small", "four_small", "four"]


def test_known_figures_are_taken_and_unknown_ones_come_from_assumptions(assumptions):
    known = cost_profile(profile(engine={"hours_since_overhaul_h": 700, "overhaul_year": 2015},
                                 propeller={"hours_since_overhaul_h": 300, "overhaul_year": 2020}), 2025, assumptions)
    assert (known.hours_since_overhaul_h, known.years_since_overhaul) == (700.0, 10.0)
    assert (known.propeller_hours_h, known.propeller_years) == (300.0, 5.0)
    silent = cost_profile(profile(), 2025, assumptions)
    assert silent.hours_since_overhaul_h == 1_000.0
    assert silent.years_since_overhaul == pytest.approx(1_000 / 85)
    assert silent.propeller_years == 12.0


def test_needs_count_fully_when_said_and_by_chance_when_not(assumptions):
    good = {"open_directives_usd": 0, "tank_sealant_good": True, "coastal": False, "gear_serviced": True}
    sound = profile(state=good, engine={"compression_psi_of_80": 75})
    assert catch_up_usd(sound, assumptions) == 0.0
    leaking = profile(state=good | {"tank_sealant_good": False}, engine={"compression_psi_of_80": 75})
    assert catch_up_usd(leaking, assumptions) == 13_000.0
    silent = profile(state=good | {"tank_sealant_good": "unknown"}, engine={"compression_psi_of_80": 75})
    assert catch_up_usd(silent, assumptions) == pytest.approx(0.35 * 13_000.0)
    worn = profile(state=good, engine={"compression_psi_of_80": 55})
    assert catch_up_usd(worn, assumptions) == 3_200.0


@pytest.mark.parametrize("path", sorted((Path(__file__).parents[2] / "profiles" / "aircraft").glob("*.yaml")),
                         ids=lambda p: p.stem)
def test_every_demo_aircraft_has_a_cost_profile(assumptions, path):
    demo = Profile.model_validate(yaml.safe_load(path.read_text(encoding="utf-8")))
    found = cost_profile(demo, 2025, assumptions)
    assert found.klass in {"F4", "R4", "H4", "T6"}
    assert 0.0 <= found.hours_since_overhaul_h <= 4_000.0
    assert found.catch_up_usd < 0.3 * found.asking_price_usd
