"""A trip over the years, by hand."""

from __future__ import annotations

import numpy as np

from missionsim.base.words import REASONS
from missionsim.report.trip_squares import BROKEN, LATE, MADE, NOT, _sentence, squares, trip_squares


def test_squares_stand_ten_in_a_row_in_the_order_of_the_years():
    codes = np.array([MADE, NOT, MADE, *[NOT] * 8, MADE], dtype=np.uint8)
    assert squares(codes, MADE) == "M1 1h8v8h-8zM21 1h8v8h-8zM11 11h8v8h-8z"


def test_the_sentence_counts_every_year_once():
    codes = np.array([MADE] * 5 + [LATE] * 2 + [BROKEN] + [NOT] * 4, dtype=np.uint8)
    why = np.zeros(len(REASONS))
    why[[3, 5]] = 4, 3
    told = _sentence(codes, why, 12)
    assert told.startswith("Of 12 years, made in 7, 2 of them late; broken off in 1; not made in 4.")
    assert "(4)" in told
    assert "(3)" in told


def test_a_trip_always_made_has_nothing_in_its_way():
    assert _sentence(np.full(3, MADE, dtype=np.uint8), np.zeros(len(REASONS)), 3) == "Of 3 years, made in 3."


def test_years_that_did_not_want_a_trip_are_said():
    none = np.zeros(len(REASONS))
    assert _sentence(np.full(3, MADE, dtype=np.uint8), none, 5) == "Of 3 years that wanted it, made in 3."
    assert _sentence(np.zeros(0, dtype=np.uint8), none, 5) == "Wanted in none of 5 years."


def test_years_of_all_outcomes_are_the_replications(comparison):
    for told in trip_squares(comparison, 1):
        parts = (told.made, told.late, told.broken, told.refused)
        assert sum(part.count("M") for part in parts) == comparison.replications
