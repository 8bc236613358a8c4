from __future__ import annotations

import numpy as np
import pytest

from missionsim.physics import engine


def test_full_power_at_the_sea_level_standard():
    assert engine.full_throttle_ratio(1.0) == pytest.approx(1.0, abs=1e-12)


def test_thinner_air_gives_less_and_never_negative_power():
    power = engine.full_throttle_ratio(np.linspace(1.2, 0.0, 50))
    assert (np.diff(power) <= 0).all()
    assert power[0] > 1.0
    assert power[-1] == 0.0
    # Power falls faster than density: friction does not thin out.
    assert (power[10:] <= np.linspace(1.2, 0.0, 50)[10:]).all()
