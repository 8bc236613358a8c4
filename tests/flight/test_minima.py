from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.flight.minima import Crew, alternate_minimum, landing_minima, takeoff_minimum

CREW = Crew(instrument=True, current=True, panel="lpv", autopilot=False, ceiling_addition_ft=0.0,
            visibility_addition_sm=0.0)


def minima(assumptions, kinds, crew=CREW, own_ft=None, own_sm=None, elevation_ft=1800.0, mountainous=False):
    n = len(kinds)
    return landing_minima(kinds, own_ft or [None] * n, own_sm or [None] * n, np.full(n, elevation_ft),
                          np.full(n, mountainous), crew, assumptions)


def test_better_approaches_have_lower_minima(assumptions):
    found = minima(assumptions, ["ils", "lpv", "lnav", "vor", "none"])
    assert (np.diff(found.ceiling_ft) >= 0).all()
    assert found.precision.tolist() == [True, True, False, False, False]
    assert found.approach.tolist() == [True, True, True, True, False]


def test_the_panel_flies_what_it_can_of_an_approach(assumptions):
    poor = minima(assumptions, ["ils", "lpv", "lnav"], replace(CREW, panel="vor"))
    # An ILS place keeps its VOR; a satellite approach is nothing to a panel without a receiver.
    assert poor.approach.tolist() == [True, False, False]
    assert not poor.precision.any()


def test_without_rating_or_currency_only_visual_minima_count(assumptions):
    visual = assumptions["flight.visual_landing_minimum"]
    for crew in (replace(CREW, instrument=False), replace(CREW, current=False)):
        found = minima(assumptions, ["ils", "none"], crew)
        assert found.ceiling_ft.tolist() == [visual[0]] * 2
        assert found.visibility_sm.tolist() == [visual[1]] * 2


def test_the_pilots_addition_comes_on_top_and_an_autopilot_takes_some_of_it(assumptions):
    plain = minima(assumptions, ["ils"]).ceiling_ft[0]
    careful = replace(CREW, ceiling_addition_ft=300.0)
    assert minima(assumptions, ["ils"], careful).ceiling_ft[0] == plain + 300.0
    relief_ft = assumptions["flight.autopilot_minima_relief_ft"]
    assert minima(assumptions, ["ils"], replace(careful, autopilot=True)).ceiling_ft[0] == plain + 300.0 - relief_ft
    assert minima(assumptions, ["ils"], replace(CREW, autopilot=True)).ceiling_ft[0] == plain


def test_a_published_minimum_wins_over_the_assumed_one_also_in_the_mountains(assumptions):
    assert minima(assumptions, ["ils"], own_ft=[420.0]).ceiling_ft[0] == 420.0
    high = minima(assumptions, ["lpv"], elevation_ft=7000.0, mountainous=True).ceiling_ft[0]
    assert high > minima(assumptions, ["lpv"], elevation_ft=7000.0).ceiling_ft[0]
    assert minima(assumptions, ["lpv"], own_ft=[500.0], elevation_ft=7000.0, mountainous=True).ceiling_ft[0] == 500.0


# Source: 14 CFR 91.169(c)(1): 600 ft and 2 sm with a precision approach, 800 ft and 2 sm with another.
@pytest.mark.published
def test_alternates_need_what_the_rule_says(assumptions):
    ceiling_ft, visibility_sm = alternate_minimum(np.array([True, False, False]), np.array([True, True, False]),
                                                  assumptions)
    assert ceiling_ft.tolist() == [600.0, 800.0, 3000.0]
    assert visibility_sm.tolist() == [2.0, 2.0, 5.0]


def test_an_instrument_pilot_departs_in_less_than_a_visual_one(assumptions):
    instrument, visual = (takeoff_minimum(crew, assumptions) for crew in (CREW, replace(CREW, instrument=False)))
    assert instrument[0] < visual[0]
    assert instrument[1] < visual[1]
