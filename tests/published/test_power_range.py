"""Engine power with altitude and range, by the fitted form itself; the bare formulas are checked beside physics.

Gagg and Ferrar (1934) as quoted in light-aircraft performance textbooks (formula from memory); Anderson, Introduction
to Flight, range of a hypothetical light airplane with propeller.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from aircraft_cases import demo, profile

from missionsim.aircraft.fitted import FittedPerformance, fitted_from_book
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()


def textbook_airplane() -> FittedPerformance:
    """Return CD0 0.025, e 0.8, aspect ratio 7.37, wing 174 sq ft; efficiency 0.8, 0.45 lb/(hp h)."""
    fit = fitted_from_book(profile(), A)
    return replace(fit, flat_plate_sqft=0.025 * 174.0, induced_area_sqft=np.pi * 0.8 * 7.37 * 174.0)


@pytest.mark.published
@pytest.mark.parametrize(("feet", "share"), [(0, 1.0), (5000, 0.84341), (8000, 0.75777), (12_000, 0.65267)])
def test_full_throttle_cruise_keeps_the_published_share_of_power(feet, share):
    fit = fitted_from_book(profile(), A).with_power(1.0)
    _, flow = fit.cruise(float(feet), 0.0, 2200.0)
    brake_hp = float(flow) * fit.fuel_lb_per_gal / fit.bsfc_lb_per_hp_h
    assert brake_hp / fit.rated_hp == pytest.approx(share, abs=2e-4)


@pytest.mark.published
def test_three_quarters_power_ends_at_8283_ft():
    fit = fitted_from_book(profile(), A)
    below, above = (float(fit.cruise(feet, 0.0, 2200.0)[1]) for feet in (8283.0 - 5.0, 8283.0 + 5.0))
    full = 0.75 * fit.rated_hp * fit.bsfc_lb_per_hp_h / fit.fuel_lb_per_gal
    assert below == pytest.approx(full, rel=1e-12)
    assert above < full


@pytest.mark.published
def test_boosted_engine_keeps_rated_power_to_its_critical_altitude():
    """Common practice for a controlled turbocharger; the unsupercharged formula must not apply below."""
    from missionsim.aircraft.performance import book_performance

    boosted = demo("boosted_six")
    critical_ft = boosted.engine.critical_altitude_ft
    fit = book_performance(boosted, A).with_power(1.0)
    flows = fit.cruise(np.array([0.0, 12_000.0, critical_ft, critical_ft + 500.0]), 0.0, 3600.0)[1]
    assert flows[0] == flows[1] == pytest.approx(flows[2], rel=1e-9)
    assert flows[3] < flows[2]


@pytest.mark.published
def test_best_lift_drag_ratio_of_the_textbook_airplane():
    fit, v = textbook_airplane(), np.linspace(80.0, 260.0, 400_001)
    drag = fit.drag_lb(v, np.asarray(2950.0))
    assert 2950.0 / drag.min() == pytest.approx(13.610, abs=0.005)


@pytest.mark.published
def test_breguet_range_by_burning_fuel_in_steps():
    """Printed about 1,207 statute miles, exact 1,204.9; here fuel burns in 2,000 steps at the speed of least drag."""
    fit, edges = textbook_airplane(), np.linspace(2950.0, 2583.4, 2001)
    weight = 0.5 * (edges[1:] + edges[:-1])
    v = np.linspace(100.0, 220.0, 2001)
    least = fit.drag_lb(v, weight[:, None]).min(axis=1)
    # Energy per pound of fuel at the propeller over drag is distance.
    feet = (-np.diff(edges) * 0.8 * 550.0 * 3600.0 / 0.45 / least).sum()
    assert feet / 5280.0 == pytest.approx(1204.9, rel=0.005)
    assert feet == pytest.approx(6.362e6, rel=0.001)
