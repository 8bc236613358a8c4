from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.physics import engine
from missionsim.physics.atmosphere import standard_density_ratio


@given(st.floats(0.01, 1.0))
def test_share_and_density_altitude_are_inverse(share):
    level_ft = engine.density_altitude_of_full_throttle_ft(share)
    assert engine.full_throttle_ratio(standard_density_ratio(level_ft)) == pytest.approx(share, abs=1e-9)
    assert engine.full_throttle_ratio(engine.density_ratio_of_full_throttle(share)) == pytest.approx(share)


def test_full_power_at_the_sea_level_standard():
    assert engine.full_throttle_ratio(1.0) == pytest.approx(1.0, abs=1e-12)


def test_thinner_air_gives_less_and_never_negative_power():
    power = engine.full_throttle_ratio(np.linspace(1.2, 0.0, 50))
    assert (np.diff(power) <= 0).all()
    assert power[0] > 1.0
    assert power[-1] == 0.0
    # Power falls faster than density: friction does not thin out.
    assert (power[10:] <= np.linspace(1.2, 0.0, 50)[10:]).all()


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_shares_only(share):
    with pytest.raises(ValidityError, match=r"power_share is .*valid from 0 to 1"):
        engine.density_altitude_of_full_throttle_ft(share)
