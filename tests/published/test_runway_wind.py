"""Wind on the runway, from FAA knowledge-test questions and FAA-H-8083-25, performance chapter."""

from __future__ import annotations

import pytest
from aircraft_cases import profile
from wind_triangle import components

from missionsim.aircraft.runway import crosswind_limit_kt, required_demonstration_kt
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()


@pytest.mark.published
@pytest.mark.parametrize(("runway", "wind_from", "wind", "head", "cross", "tolerance"), [
    # FAA private-pilot question on the wind-component chart: printed 23 and 19 kt.
    (180.0, 220.0, 30.0, 23.0, 19.0, 0.5),
    (180.0, 220.0, 30.0, 22.98, 19.28, 0.01),
    # Trigonometry.
    (270.0, 90.0, 10.0, -10.0, 0.0, 0.01),
    (30.0, 330.0, 20.0, 10.0, -17.32, 0.01),
])
def test_components_on_a_runway(runway, wind_from, wind, head, cross, tolerance):
    found = components(runway, wind_from, wind)
    assert float(found[0]) == pytest.approx(head, abs=tolerance)
    assert float(found[1]) == pytest.approx(cross, abs=tolerance)


@pytest.mark.published
def test_crosswind_that_certification_asks_for():
    """FAA-H-8083-25, crosswind section: at least 0.2 of the stalling speed VS0, so 9 kt for 45 kt."""
    assert required_demonstration_kt(45.0, A) == pytest.approx(9.0, abs=1e-12)
    assert crosswind_limit_kt(profile(book__vs0_cas_kt=45.0), A) == pytest.approx(9.0)
