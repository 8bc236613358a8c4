"""Trips that are worth flying, as the page tells them."""

from __future__ import annotations

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
        return TripWorth("", (), "", made, None if made == 0.0 else 1.0, None, at)

    rows = [trip(0.0, None), trip(0.5, None), trip(0.5, 40.0), trip(0.5, 0.0)]
    assert [(r.made_share, r.at_usd_per_h) for r in sorted(rows, key=_order)] == [
        (0.5, 0.0), (0.5, 40.0), (0.5, None), (0.0, None)]
