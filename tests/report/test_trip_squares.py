"""A trip over the years, by hand."""

from __future__ import annotations

import re
from itertools import pairwise

import numpy as np

from missionsim.base.words import REASONS
from missionsim.report.trip_squares import BROKEN, LATE, MADE, NOT, _sentence, area, in_hundred, trip_squares


def test_squares_are_sorted_and_those_of_one_outcome_are_one_shape():
    codes = in_hundred(np.array([MADE, NOT, MADE, *[NOT] * 8, MADE], dtype=np.uint8))
    assert codes.tolist() == [MADE] * 3 + [NOT] * 9
    assert area(codes, MADE) == "M0 0h30v10h-30z"
    assert area(codes, NOT) == "M30 0H100V10H20V20H0V10H30z"      # round the seven of the first row and two below
    assert area(codes, LATE) == ""
    assert area(np.full(100, MADE, dtype=np.uint8), MADE) == "M0 0H100V100H0z"
    assert area(np.full(10, MADE, dtype=np.uint8), MADE) == "M0 0h100v10h-100z"


def test_of_more_than_a_hundred_years_a_square_is_its_hundredth():
    codes = in_hundred(np.array([NOT] * 150 + [MADE] * 50, dtype=np.uint8))
    assert (len(codes), int((codes == MADE).sum())) == (100, 25)


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


def test_the_shapes_of_all_outcomes_cover_a_square_a_year(comparison):
    def covered(path):
        """Return the area inside a shape of right angles, by its corners. [squares]"""
        x = y = 0
        corners = []
        for letter, numbers in re.findall(r"([A-Za-z])([^A-Za-z]*)", path):
            n = [int(v) for v in numbers.split()] or [0]
            steps = {"M": (n[0], n[-1]), "H": (n[0], y), "V": (x, n[0]), "h": (x + n[0], y), "v": (x, y + n[0])}
            x, y = corners[0] if letter == "z" else steps[letter]
            corners.append((x, y))
        return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(corners))) / 200

    for told in trip_squares(comparison, 1):
        parts = (told.made, told.late, told.broken, told.refused)
        assert sum(covered(part) for part in parts) == comparison.replications
