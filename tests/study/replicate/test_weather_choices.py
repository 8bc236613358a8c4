"""What rating, panel, ice protection and an early start do to a year: the order a pilot in Nebraska would expect."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.derive.check_choices import VARIANTS, measured, study_of
from missionsim.statistics.intervals import mean_interval
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import weather_of
from missionsim.world.random_fields.hours import NEW_YEAR_INDEX
from missionsim.year.trips import local_time

pytestmark = pytest.mark.slow
REPLICATIONS = 12


@pytest.fixture(scope="module")
def choices():
    listed = load_study()
    base = replace(listed, spec=listed.spec.model_copy(update={"trips_are": "logbook", "local_hours_per_year": 0.0}))
    return {name: measured(base, name, rating, panel, REPLICATIONS) for name, rating, panel in VARIANTS}


def gain(choices, more, less, season):
    return choices[more].completed[season] - choices[less].completed[season]


def test_an_instrument_rating_completes_more_trips_most_of_all_in_winter(choices):
    more, less = "instrument, LPV and autopilot", "visual pilot, LPV"
    assert mean_interval(gain(choices, more, less, "year"))[1] > 0.05
    assert gain(choices, more, less, "winter").mean() > gain(choices, more, less, "summer").mean()


def test_a_better_panel_never_costs_trips_over_a_year(choices):
    assert gain(choices, "instrument, LPV and autopilot", "instrument, steam gauges", "year").mean() > 0.0


def test_ice_approval_pays_outside_summer(choices):
    more, less = "the same, ice approved", "instrument, LPV and autopilot"
    cold = sum(gain(choices, more, less, s).mean() for s in ("winter", "spring", "autumn"))
    assert cold > 0.0
    assert abs(gain(choices, more, less, "summer").mean()) < 0.03


def test_wrong_looks_are_few_but_not_none(choices):
    sure = choices["instrument, LPV and autopilot"]
    assert 0.2 < sure.false_go < 5.0
    assert 0.2 < sure.false_stop < 8.0


def test_the_summer_evening_is_the_thunderstorms_and_the_early_start_is_better():
    """On the central plains storms build through the afternoon and peak at night; mornings are the quiet hours."""
    ready = prepare(study_of(load_study(), "instrument", {"panel.approach": "lpv"}))
    home = ready.schedule.from_place[0]
    local = np.array([local_time(float(h), "America/Chicago", 2025).hour for h in range(3600, 5800)])
    hour = NEW_YEAR_INDEX + np.arange(3600, 5800)
    covered = np.mean([weather_of(ready, r).sky.surface.storms.coverage(home, hour) for r in range(12)], axis=0)
    early, late = covered[(local >= 8) & (local <= 12)].mean(), covered[(local >= 16) & (local <= 22)].mean()
    assert 0.005 < late < 0.1
    assert early < 0.8 * late
