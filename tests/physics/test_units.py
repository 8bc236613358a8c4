from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.errors import ValidityError
from missionsim.physics import units


def test_factors_hang_together():
    # Source: definitions of the international foot, pound and nautical mile.
    assert pytest.approx(6_076.12, abs=0.005) == units.M_PER_NM / units.M_PER_FT
    assert pytest.approx(units.M_PER_SM, rel=1e-12) == 5_280 * units.M_PER_FT
    assert pytest.approx(1_013.25, abs=0.002) == 29.9213 * units.HPA_PER_INHG


def test_single_precision_stays_single_and_whole_numbers_become_double():
    assert units.real(np.float32([1.5])).dtype == np.float32
    assert units.real([1, 2]).dtype == np.float64
    assert units.real(3).dtype == np.float64


@pytest.mark.parametrize("value", [-1.5, 11.0, float("nan"), float("inf")])
def test_out_of_range_names_value_and_both_limits(value):
    with pytest.raises(ValidityError, match=r"depth is .*valid from -1 to 10"):
        units.require_within("depth", np.array([0.0, value]), -1.0, 10.0)


def test_limits_are_inside_and_nothing_is_fine():
    units.require_within("depth", np.array([-1.0, 10.0]), -1.0, 10.0)
    units.require_within("depth", np.array([]), -1.0, 10.0)
