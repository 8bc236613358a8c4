"""Fuel that the search for stops keeps back, by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.flight.table import FuelPolicy
from missionsim.study.prepare.candidates import _stop_planner


@pytest.mark.parametrize(("instrument", "gallons"), [(True, 1.0 + 0.5 + 10.0 + 4.0), (False, 1.0 + 0.5 + 10.0)])
def test_stops_are_planned_with_taxi_approach_reserve_and_on_instruments_an_alternate(instrument, gallons):
    def ft(*_):
        return np.full(1, 1000.0)

    draft = SimpleNamespace(
        equipped=SimpleNamespace(profile=SimpleNamespace(max_takeoff_lb=2700.0), takeoff_ft=ft, landing_ft=ft),
        rules=SimpleNamespace(runway_margin=1.5, instrument=instrument), coarse=SimpleNamespace(fuel_flow_gph=10.0),
        fuel=FuelPolicy(taxi_gal=1.0, approach_gal=0.5, reserve_h=1.0, lb_per_gal=6.0, usable_gal=60.0))
    planner = _stop_planner(draft, None, packaged_assumptions())
    assert planner.reserve_gal == pytest.approx(gallons)     # 0.4 h to an alternate at 10 gal/h
    assert planner.runway_ft == pytest.approx(1000.0 * 1.3 * 1.5)
