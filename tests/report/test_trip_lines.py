"""The table of every trip: all figures of a cell are of the same years, worked by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.report.tables import _cells, trip_lines
from missionsim.study.compare.compare import compare
from missionsim.study.replicate.trip_years import BROKEN_OFF, COMPLETED, REFUSED, TripYears

GONE = 1
"""Of the trips below: never made, and given up."""


def by_hand():
    """Return two trips over four years: the first made twice, broken off once and refused once, the other given up."""
    none = np.zeros(8, dtype=np.float32)
    values = dict.fromkeys(TripYears.__dataclass_fields__, none)
    first = np.array([COMPLETED, COMPLETED, BROKEN_OFF, REFUSED], dtype=np.uint8)
    values |= {"replication": np.repeat(np.arange(4), 2), "trip": np.tile([0, 1], 4),
               "outcome": np.ravel([first, np.full(4, REFUSED)], order="F"),
               "flown_h": np.array([3, 0, 4, 0, 1, 0, 0, 0], np.float32),
               "car_h": np.array([0, 0, 0, 0, 8, 0, 0, 0], np.float32),
               "airline_h": np.array([0, 0, 0, 0, 0, 0, 6, 0], np.float32),
               "flown_usd": np.array([200, 0, 240, 0, 100, 0, 0, 0], np.float32),
               "car_usd": np.array([0, 0, 0, 0, 300, 0, 0, 0], np.float32),
               "airline_usd": np.array([0, 0, 0, 0, 0, 0, 960, 0], np.float32),
               "lost_usd": np.array([0, 50, 0, 50, 0, 50, 0, 50], np.float32)}
    counts = np.zeros((2, 4))
    counts[0, [COMPLETED, BROKEN_OFF, REFUSED]], counts[GONE, REFUSED] = (2.0, 1.0, 1.0), 4.0
    sums = np.array([[9.0, 11.0, 3.0, 60.0], [0.0, 0.0, 0.0, 0.0]])     # three stops in three years in which it left
    return SimpleNamespace(tally=SimpleNamespace(by_trip=counts, trip_reason=np.zeros((2, 21)), trip_sum=sums,
                                                 trips=TripYears(**values)))


def test_hours_and_dollars_are_of_all_years_that_wanted_the_trip_however_it_was_made():
    first, gone = _cells(by_hand(), 2)
    # (3 + 4 + 1 + 8 + 6) / 4 hours; (200 + 240 + 100 + 300 + 960) / 4 dollars; a stop each time it left.
    assert (first.made, first.detail) == ("50 %", "1\u00a0stop · 5.5\u00a0h · $450")
    assert (gone.made, gone.detail) == ("never", "$50")     # nobody travels: no hours


@pytest.mark.parametrize("value", [0.0, 60.0])
def test_no_figure_depends_on_how_many_years_keep_their_records(value):
    study = small_study(trips=6, value_of_time_usd_per_h=value)
    few, every = (trip_lines(compare(study, 6, keep=keep)) for keep in (1, 6))
    assert few == every


def test_dollars_of_all_trips_are_what_the_ledger_books_on_trips_hours_left_out():
    found = compare(small_study(trips=6, value_of_time_usd_per_h=60.0), 3)
    for number, result in enumerate(found.results):
        part, shown = result.tally, 0.0
        for line in trip_lines(found):
            detail = line.cells[number].detail
            shown += float(next(p for p in detail.split(" · ") if p.startswith("$"))[1:].replace(",", ""))
        ledger = part.kept.ledger
        of_trips = (ledger["trip"] >= 0) & (ledger["category"] != "time")
        booked = ledger["amount_cents"][of_trips].sum() / 100.0 / 3
        assert shown == pytest.approx(booked, abs=0.5 * len(part.by_trip) + 0.01)      # each rounded to a dollar
