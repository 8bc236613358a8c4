"""What rating, panel, ice protection and an early start do to a year: the order a pilot in Nebraska would expect."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.words import BIT, Reason
from missionsim.derive.check_choices import VARIANTS, measured, study_of
from missionsim.study.assemble import prepare
from missionsim.study.intervals import mean_interval
from missionsim.study.loader import load_study
from missionsim.study.replicate import weather_of, year_of
from missionsim.year.trips import local_time

pytestmark = pytest.mark.slow
REPLICATIONS = 12


@pytest.fixture(scope="module")
def choices():
    base = load_study()
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
    book, bit = ready.book, np.uint32(BIT[Reason.THUNDERSTORM])
    hours = {"early": [], "late": []}
    for r in range(6):
        reasons = year_of(ready, 0, weather_of(ready, r), r).weather.reasons
        for leg in range(len(book.trip)):
            for slot in range(book.slots):
                local = local_time(float(book.start_h[leg] + slot), "America/Chicago", 2025)
                if local.month in {6, 7, 8}:
                    kind = "early" if 8 <= local.hour <= 12 else "late" if 16 <= local.hour <= 22 else None
                    if kind:
                        hours[kind].append(bool(reasons[leg, slot] & bit))
    early, late = (np.mean(hours[k]) for k in ("early", "late"))
    assert 0.02 < late < 0.25
    assert early < 0.8 * late
