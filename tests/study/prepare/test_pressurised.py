"""A pressurised cabin: rules of oxygen are read at the altitude inside it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.aircraft.profile import Profile
from missionsim.study.prepare.study import prepare


def plan_of(**more):
    study = small_study(trips=6, candidates=1)
    profile = Profile.model_validate({"name": "high", "class": "six-seat pressurised single",
                                      "prices": {"asking_price_usd": 400_000}, **more})
    study = replace(study, candidates=(replace(study.candidates[0], name="high", profile=profile),))
    return prepare(study).flyers[0].plan


@pytest.mark.parametrize(("psi", "highest_ft"), [(3.9, 25_000.0), (2.0, 18_500.0)])
def test_levels_with_passengers_go_by_the_cabin(psi, highest_ft):
    """By the tables of the standard atmosphere: 2.0 psi (138 hPa) over 18,500 ft (494 hPa) is 632 hPa or 12,400 ft;
    3.9 psi keeps the cabin below that to the highest level flown."""
    plan = plan_of(limits={"cabin_differential_psi": psi})
    levels, limits = plan.table.rows.levels_ft, plan.level_limits
    people = plan.rows.people[:, None] > 1
    clear = np.isfinite(levels) & limits.clears_terrain
    assert limits.oxygen[clear & (levels <= highest_ft)].all()
    assert (clear & people & (levels > 14_000)).any()
    # Above 14,000 ft in the cabin nobody may fly without oxygen: 2.0 psi reaches that at about 20,300 ft.
    if psi == 2.0:
        assert not limits.oxygen[clear & people & (levels > 20_500.0)].any()


def test_without_pressure_passengers_stay_low_as_ever():
    plan = plan_of(identity={"pressurised": False}, panel={"oxygen": "fixed"})
    levels = plan.table.rows.levels_ft
    people = plan.rows.people[:, None] > 1
    assert not plan.level_limits.oxygen[np.isfinite(levels) & people & (levels > 14_000.0)].any()
