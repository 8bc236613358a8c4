from __future__ import annotations

import airdata
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError

LEVELS = st.floats(0, 30_000)
TEMPERATURES = st.floats(-50, 40)


@given(st.floats(0, 280), LEVELS, TEMPERATURES)
def test_true_and_calibrated_are_inverse(cas, level_ft, t_c):
    tas = airdata.tas_kt(cas, level_ft, t_c)
    assert airdata.cas_kt(tas, level_ft, t_c) == pytest.approx(cas, abs=1e-7)


@given(st.floats(1, 280), LEVELS, TEMPERATURES)
def test_equivalent_is_inverse_and_never_above_calibrated(cas, level_ft, t_c):
    eas = airdata.eas_kt(airdata.tas_kt(cas, level_ft, t_c), level_ft, t_c)
    assert airdata.tas_of_eas_kt(eas, level_ft, t_c) == pytest.approx(float(airdata.tas_kt(cas, level_ft, t_c)))
    assert eas <= cas * (1 + 1e-9)


@given(st.floats(0, 400))
def test_all_airspeeds_agree_at_sea_level_in_standard_air(cas):
    assert airdata.tas_kt(cas, 0, 15) == pytest.approx(cas, abs=1e-6)
    assert airdata.eas_kt(cas, 0, 15) == pytest.approx(cas, abs=1e-6)


@given(st.floats(40, 280), LEVELS, TEMPERATURES)
def test_true_airspeed_grows_with_speed_height_and_warmth(cas, level_ft, t_c):
    tas = airdata.tas_kt(cas, level_ft, t_c)
    assert airdata.tas_kt(cas + 1, level_ft, t_c) > tas
    assert airdata.tas_kt(cas, level_ft + 100, t_c) > tas
    assert airdata.tas_kt(cas, level_ft, t_c + 1) > tas


def test_against_energy_along_the_flow():
    # Stagnation enthalpy, without the pitot closed form: impact pressure of isentropic flow at Mach 0.5.
    tas = 0.5 * airdata.speed_of_sound_kt(-20.0)
    impact_share = (1 + 0.2 * 0.25) ** 3.5 - 1
    delta = airdata.pressure_hpa(18_000) / 1_013.25
    cas_mach = np.sqrt(5 * ((impact_share * delta + 1) ** (2 / 7) - 1))
    assert airdata.cas_kt(tas, 18_000, -20.0) == pytest.approx(float(cas_mach * airdata.SOUND0_KT), rel=1e-12)


def test_slow_speeds_lose_no_digits():
    assert airdata.tas_kt(1e-4, 0, 15) == pytest.approx(1e-4, rel=1e-9)


@pytest.mark.parametrize(("call", "name"), [
    (lambda: airdata.tas_kt(-1, 0, 15), "cas_kt is -1; valid from 0 to 600"),
    (lambda: airdata.tas_kt(600, 40_000, -56), "Mach number is"),
    (lambda: airdata.cas_kt(700, 0, 15), "Mach number is"),
    (lambda: airdata.tas_kt(100, 70_000, 0), "pressure altitude in ft is 70,000"),
])
def test_out_of_range(call, name):
    with pytest.raises(ValidityError, match=name):
        call()


def test_indicated_is_calibrated_without_a_table():
    assert airdata.cas_of_ias_kt(97.0) == 97.0


def test_correction_table_interpolates_and_does_not_extrapolate():
    ias, cas = (50.0, 100.0, 150.0), (56.0, 100.0, 147.0)
    assert airdata.cas_of_ias_kt([50, 75, 125], ias, cas) == pytest.approx([56.0, 78.0, 123.5])
    with pytest.raises(ValidityError, match="ias_kt is 160; valid from 50 to 150"):
        airdata.cas_of_ias_kt(160, ias, cas)
