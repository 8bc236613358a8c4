"""True airspeed against values worked from the standard pitot relations."""

from __future__ import annotations

import pytest
from airdata import cas_kt, eas_kt, tas_kt, tas_of_eas_kt

pytestmark = pytest.mark.published

# Source: standard subsonic pitot relations on the ICAO atmosphere, worked apart from this program.
# Columns: CAS, pressure altitude, °C, compressible TAS, CAS over the root of the density ratio.
CASES = [(100.0, 8_000.0, -0.8496, 112.68, 112.79), (140.0, 6_000.0, 20.0, 157.53, 157.74)]


@pytest.mark.parametrize(("cas", "pa_ft", "t_c", "compressible_kt", "incompressible_kt"), CASES)
def test_true_airspeed(cas, pa_ft, t_c, compressible_kt, incompressible_kt):
    assert tas_kt(cas, pa_ft, t_c) == pytest.approx(compressible_kt, abs=0.05)
    assert tas_of_eas_kt(cas, pa_ft, t_c) == pytest.approx(incompressible_kt, abs=0.05)
    assert cas_kt(compressible_kt, pa_ft, t_c) == pytest.approx(cas, abs=0.05)
    assert eas_kt(incompressible_kt, pa_ft, t_c) == pytest.approx(cas, abs=0.05)


def test_two_percent_per_thousand_feet():
    # Sanity band only. Source: common practice, TAS grows by some 2 % per 1,000 ft.
    assert tas_kt(120.0, 8_000, -0.85) == pytest.approx(120 * 1.16, rel=0.04)
