"""What is questioned, and a twin on one engine, by hand."""

from __future__ import annotations

import pytest
from aircraft_cases import NAMES, demo

from missionsim.aircraft.doubts import doubts, one_engine
from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.money.cost_profile import cost_profile
from missionsim.money.operating_costs import engine_reserve_usd_per_h

A = packaged_assumptions()


def of(words: str, **more) -> Profile:
    return Profile.model_validate({"name": "x", "class": words, "prices": {"asking_price_usd": "unknown"}, **more})


def test_190_kt_on_180_hp_and_400_hp_in_one_engine_are_questioned():
    (fast,) = doubts(of("four-seat fixed gear, 180-200 hp", book={"cruise": [{"tas_kt": 190}]},
                        engine={"rated_hp": 180}), A)
    assert "too good to be true" in fast
    assert any("is it two engines of 200" in d for d in doubts(of("six-seat fixed gear", engine={"rated_hp": 400}), A))


@pytest.mark.parametrize("name", NAMES)
def test_the_demo_is_not_questioned(name):
    assert doubts(demo(name), A) == ()


def test_a_twin_on_one_engine_by_hand():
    # 0.282 x 33,000 x 180 / 3,850 - 166 = 269 ft/min; 14 x 269 + 2,290 = 6,056 ft; 1.35 x 1,650 = 2,228 ft
    twin = of("light twin", engine={"rated_hp": 180}, weights={"max_takeoff_lb": 3850},
              book={"takeoff": {"over_50ft_ft": 1650}})
    found = one_engine(twin, A)
    assert found.climb_fpm == pytest.approx(269, abs=1)
    assert found.ceiling_ft == pytest.approx(6056, abs=15)
    assert found.accelerate_stop_ft[1] == pytest.approx(2228, abs=1)
    assert one_engine(demo(NAMES[0]), A) is None


def test_two_engines_are_reserved_for_twice():
    twin = cost_profile(of("light twin", engine={"rated_hp": 180}), 2025, A)
    single = cost_profile(of("four-seat fixed gear, 180-200 hp", engine={"rated_hp": 180}), 2025, A)
    assert (twin.engines, single.engines) == (2, 1)
    assert engine_reserve_usd_per_h(twin, A) == pytest.approx(2.0 * engine_reserve_usd_per_h(single, A))


def test_a_blown_aircraft_stops_at_its_book_ceiling():
    blown = of("six-seat turbocharged single", book={"service_ceiling_ft": 24_000})
    assert float(performance_of(blown, A).ceiling_ft(-10.0, 0.7 * blown.max_takeoff_lb)) <= 24_000.0
