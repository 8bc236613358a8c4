"""Trips that are worth flying, as the page tells them."""

from __future__ import annotations

from dataclasses import replace

import pytest

from missionsim.report import answer_alternatives
from missionsim.report.answer_alternatives import worth_sentence
from missionsim.report.trip_worth import _order, trip_worth_section
from missionsim.study.compare.trip_worth import TripWorth


def test_each_trip_stands_by_its_day_and_purpose_and_by_the_years_that_wanted_it(comparison):
    (table,) = trip_worth_section(comparison).tables
    made = [cell.split(" of ") for cell in (row[2] for row in table.rows)]
    lead = comparison.results[comparison.lead].tally
    assert sum(int(m) for m, _ in made) == lead.column("completed").sum()
    assert sum(int(w) for _, w in made) == lead.column("trips_wanted").sum()
    first = comparison.prepared.table[0]
    named = [row for row in table.rows if row[0].startswith(f"{first.departs_local[0]:%d %b} ")]
    assert named
    assert all(row[0].endswith(first.purpose or f"to {first.destinations[0]}") for row in named)


def test_what_is_worth_it_at_no_value_stands_behind_what_is_and_what_is_never_made_last():
    def trip(made, at):
        return TripWorth("", (), "", made, None if made == 0.0 else 1.0, None, at, made >= 0.2)

    rows = [trip(0.0, None), trip(0.01, 0.0), trip(0.5, None), trip(0.5, 40.0), trip(0.5, 0.0)]
    assert [(r.made_share, r.at_usd_per_h) for r in sorted(rows, key=_order)] == [
        (0.5, 0.0), (0.5, 40.0), (0.5, None), (0.01, 0.0), (0.0, None)]


@pytest.mark.parametrize(("value", "rows", "said"), [
    (0.0, [(0.9, 50.0), (0.9, 64.0), (0.9, 0.0)],
     "2 of the 3 trips of the list at 63 dollars an hour of an adult's time, the published value for travel by air."),
    (40.0, [(0.9, 50.0), (0.9, 39.0), (0.01, 0.0), (0.0, None)],
     "1 of the 4 trips of the list at 40 dollars an hour of an adult's time, as this study values it; 1 trip made in "
     "less than 20 % of the years that want it is left open and 1 is never made."),
    (40.0, [(0.1, 50.0), (0.01, 0.0)],
     "0 of the 2 trips of the list at 40 dollars an hour of an adult's time, as this study values it; 2 trips made in "
     "less than 20 % of the years that want them are left open.")])
def test_the_count_is_at_the_study_s_own_value_and_leaves_open_what_is_rarely_made(comparison, monkeypatch, value, rows,
                                                                                   said):
    found = [TripWorth("", (), "", made, None if at is None else 1.0, None, at, made >= 0.2) for made, at in rows]
    monkeypatch.setattr(answer_alternatives, "trip_worth", lambda _: found)
    prices = replace(comparison.prepared.prices, value_of_time_usd_per_h=value)
    sentence = worth_sentence(replace(comparison, prepared=replace(comparison.prepared, prices=prices)))
    assert sentence.endswith(f"once it is owned, is worth flying for {said}")
