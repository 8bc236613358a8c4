"""The yearly course of the wind at the ground: strongest in March or April, weakest in August, over the country.

Known of the contiguous states (climatology, from memory); the packaged table is held against its reports, too.
"""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.derive.check_climate import contiguous_of
from missionsim.derive.surface import RAW, read_raw
from missionsim.world.surface.station_climate import BLOCKS, MONTH_OF_HOUR, MONTHS
from missionsim.world.surface.station_table import StationTable

EVERY = 4
"""Every fourth station by the table's order, which goes over the country."""


@pytest.fixture(scope="module")
def rows():
    states = np.array([state.decode() for state in StationTable.packaged().state])
    return np.flatnonzero(contiguous_of(states))[::EVERY]


@pytest.fixture(scope="module")
def by_month_kt(rows):
    """Mean wind speed of drawn hours, [12]."""
    draws = np.random.default_rng(5).standard_normal((2, 200))
    packaged, total = StationTable.packaged(), np.zeros(MONTHS)
    for row in rows.tolist():
        c = packaged.climate(row)
        u = c.wind_u_kt[..., None] + c.wind_sd_u_kt[..., None] * draws[0]
        r = c.wind_correlation[..., None]
        v = c.wind_v_kt[..., None] + c.wind_sd_v_kt[..., None] * (r * draws[0] + np.sqrt(1.0 - r * r) * draws[1])
        total += np.hypot(u, v).mean(axis=2).sum(axis=1) / BLOCKS
    return total / len(rows)


def test_ground_wind_is_strongest_in_spring_and_weakest_in_august(by_month_kt):
    assert int(by_month_kt.argmax()) in (2, 3)
    assert int(by_month_kt.argmin()) == 7


@pytest.mark.slow
@pytest.mark.skipif(not (RAW / "tmy3_hourly.npz").is_file(), reason="the raw reports are not here")
def test_ground_wind_is_that_of_the_reports(by_month_kt, rows):
    raw, _ = read_raw(RAW, "tmy3")
    wind = raw["wind_kt"][StationTable.packaged().raw_row[rows]]
    reported = np.array([wind[:, month == MONTH_OF_HOUR].mean() for month in range(MONTHS)])
    assert by_month_kt == pytest.approx(reported, abs=0.5)
