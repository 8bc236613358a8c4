"""The hours of the day a study gives for leaving and arriving."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from missionsim.base.assumptions import packaged_assumptions
from missionsim.study.inputs.schema_parts import WakingHours


def test_hours_given_take_the_place_of_the_usual_ones_and_others_stay():
    usual = packaged_assumptions()
    found = WakingHours(earliest_departure=5.0, passengers_latest=23.5).over(usual)
    assert found["waking.earliest_departure_local_h"] == 5.0
    assert found["waking.passengers_latest_local_h"] == 23.5
    assert found["waking.latest_arrival_local_h"] == usual["waking.latest_arrival_local_h"]


def test_a_day_without_hours_is_refused():
    with pytest.raises(ValidationError, match="at least three hours"):
        WakingHours(earliest_departure=12.0, latest_arrival=14.0)
