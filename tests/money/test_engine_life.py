from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import ValidityError
from missionsim.money.engine_life import engine_life, wear_factor

ENGINES = ("four", "six", "six_large", "turbo")


def overhauled_share(life, hours_h):
    """Return the share of engines overhauled by then."""
    return float(-np.expm1(-life.cumulative_hazard(hours_h)))


# From memory: low, likely and high hours at an overhaul for condition, and the share that reaches published hours.
@pytest.mark.parametrize(("engine", "hours", "reach"), [
    ("four", (1450, 2200, 2800), (0.50, 0.65, 0.80)), ("six", (1050, 1720, 2300), (0.40, 0.52, 0.70)),
    ("turbo", (850, 1510, 2050), (0.30, 0.42, 0.60))])
def test_hours_at_overhaul_and_share_reaching_tbo(assumptions, engine, hours, reach):
    life = engine_life(engine, assumptions)
    assert life.overhaul_hours_h([0.1, 0.5, 0.9]) == pytest.approx(hours, rel=1e-9)
    reached = 1.0 - overhauled_share(life, assumptions["engine_life.tbo_h"][engine])
    assert reached == pytest.approx(reach[1], abs=0.02)
    assert reach[0] <= reached <= reach[2]


@pytest.mark.parametrize("engine", ENGINES)
def test_early_failures_then_a_long_flat_part_then_wear(assumptions, engine):
    life = engine_life(engine, assumptions)
    early, middle, late = np.diff(life.cumulative_hazard([75.0, 76.0, 500.0, 501.0, 2_000.0, 2_001.0]))[::2]
    assert 2.0 <= early / middle <= 4.0
    assert late > 5.0 * middle


@given(st.sampled_from(ENGINES), st.floats(0.0, 1.0), st.floats(0.0, 4_000.0))
def test_an_engine_fails_after_the_hours_it_has_reached_never_before(engine, uniform, already):
    life = engine_life(engine, packaged_assumptions())
    assert float(life.overhaul_hours_h(uniform, already)) >= already - 1e-6


@given(st.sampled_from(ENGINES), st.floats(0.001, 0.999))
def test_share_and_hours_are_inverse(engine, share):
    life = engine_life(engine, packaged_assumptions(), tbo_h=1_900.0, kind="field")
    assert overhauled_share(life, life.overhaul_hours_h(share)) == pytest.approx(share, abs=1e-9)


def test_conditional_draws_follow_the_survivors_of_the_unconditional_ones(assumptions):
    life, u = engine_life("four", assumptions), (np.arange(100_000) + 0.5) / 100_000
    whole = life.overhaul_hours_h(u)
    survivors = whole[whole > 1_200.0]
    drawn = life.overhaul_hours_h(u, 1_200.0)
    np.testing.assert_allclose(np.quantile(drawn, [0.1, 0.5, 0.9]), np.quantile(survivors, [0.1, 0.5, 0.9]), rtol=2e-3)


def test_longer_published_hours_stretch_the_life_past_the_early_period(assumptions):
    assert float(engine_life("four", assumptions, 2_200.0).overhaul_hours_h(0.5)) == pytest.approx(
        150 + (2_200 - 150) * 1.1)
    assert overhauled_share(engine_life("four", assumptions, 2_200.0), 150.0) == pytest.approx(0.02)


def test_a_factory_engine_has_fewer_early_failures_than_a_field_overhaul(assumptions):
    shares = [overhauled_share(engine_life("four", assumptions, kind=k), 150.0) for k in ("factory", "field")]
    assert shares[0] < 0.02 < shares[1]


def test_idle_and_old_engines_wear_faster(assumptions):
    np.testing.assert_allclose(wear_factor([100, 30, 30], [5, 5, 15], assumptions), [1.0, 2.0, 2.6])


def test_a_draw_outside_zero_to_one_is_refused(assumptions):
    with pytest.raises(ValidityError, match="accepted: 0 to 1"):
        engine_life("four", assumptions).overhaul_hours_h(1.2)
