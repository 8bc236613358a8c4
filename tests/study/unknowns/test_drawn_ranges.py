"""Figures of a listing drawn from the range that is given: no cap of ours stands in a range's way."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.study.inputs.load_study import load_study
from missionsim.study.unknowns.draws import Listing


def drawn(assumptions, key, low, likely, high, count=4_000):
    profile = load_study().candidates[0].profile.changed({key: {"low": low, "likely": likely, "high": high}})
    return Listing.of(profile, 2025, assumptions).drawn(7, range(count)).values[key]


@pytest.mark.parametrize("high", [20_000.0, 45_000.0, 60_000.0])
def test_open_directives_are_drawn_to_what_is_said_of_them(assumptions, high):
    """10, 50 and 90 % points as given; 95 %: z of 1.645 over 1.282 on the logarithm, at most what is accepted."""
    values = drawn(assumptions, "state.open_directives_usd", 2_000.0, 8_000.0, high)
    assert np.quantile(values, [0.1, 0.5, 0.9]) == pytest.approx([2_000.0, 8_000.0, high], rel=0.01)
    assert np.quantile(values, 0.95) == pytest.approx(
        min(8_000.0 * (high / 8_000.0) ** (1.644854 / 1.281552), 100_000.0), rel=0.02)


def test_an_annual_said_to_be_overdue_is_drawn_overdue(assumptions):
    values = drawn(assumptions, "state.months_since_annual", 13.0, 15.0, 20.0)
    assert np.quantile(values, [0.1, 0.5, 0.9]) == pytest.approx([13.0, 15.0, 20.0], rel=0.01)
