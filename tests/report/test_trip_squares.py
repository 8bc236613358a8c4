"""A trip over the years, by hand."""

from __future__ import annotations

import numpy as np

from missionsim.base.words import REASONS
from missionsim.report.trip_squares import BROKEN, LATE, MADE, NOT, _sentence, area, in_hundred, trip_squares


def test_squares_stand_ten_in_a_row_sorted_and_are_one_shape():
    codes = in_hundred(np.array([MADE, NOT, MADE, *[NOT] * 8, MADE], dtype=np.uint8))
    assert codes.tolist() == [MADE] * 3 + [NOT] * 9
    assert [area(n) for n in (0, 3, 10, 12, 100)] == [
        "", "M0 0H3V1H0z", "M0 0H10V1H0z", "M0 0H10V1H2V2H0z", "M0 0H10V10H0z"]


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


def test_each_shape_covers_the_years_of_its_outcome_and_better_ones(comparison):
    trips = comparison.results[0].tally.trips
    codes = trips.outcome[trips.trip == 1]
    assert trip_squares(comparison, 1)[0].shapes == tuple(
        area(int(np.isin(codes, kinds).sum())) for kinds in ((MADE, LATE, BROKEN, NOT), (MADE, LATE, BROKEN),
                                                             (MADE, LATE), (MADE,)))
