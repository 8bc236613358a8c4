"""Hours at which people leave and arrive, from a trip list."""

from __future__ import annotations

from datetime import datetime

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.world.airports.table import AirportTable
from missionsim.year.schedule import make_schedule
from missionsim.year.trips import Trip, TripTable


def hours(hour: int, adults: int = 1, must_go: bool = False) -> tuple[float, ...]:
    a = packaged_assumptions()
    table = AirportTable.packaged(a)
    airports = [table.find("KGRI"), table.find("KDEN")]
    trip = Trip("t", ("KGRI", "KDEN", "KGRI"), (datetime(2025, 6, 3, hour), datetime(2025, 6, 3, 16)), adults,
                must_go=must_go, earlier_h=3.0)
    made = make_schedule(TripTable((trip,), "KGRI", 2025), {"KGRI": 0, "KDEN": 1}, airports, a)
    return tuple(float(getattr(made, name)[0]) for name in (
        "local_h", "zone_shift_h", "earliest_local_h", "latest_local_h"))


@pytest.mark.parametrize(("hour", "adults", "must_go", "earliest_h", "latest_h"), [
    (8, 1, False, 6.0, 22.0), (8, 3, False, 7.0, 21.0), (8, 3, True, 5.5, 22.5),
    (5, 3, False, 5.0, 21.0),       # the list says five: then it is five
    (20, 2, False, 7.0, 21.5)])     # and who plans to leave at eight in the evening arrives after nine
def test_who_travels_decides_when(hour, adults, must_go, earliest_h, latest_h):
    assert hours(hour, adults, must_go) == (hour - 3.0, -1.0, earliest_h, latest_h)


def made(**changes):
    a = packaged_assumptions()
    table = AirportTable.packaged(a)
    trip = Trip("t", ("KGRI", "KDEN", "KGRI"), (datetime(2025, 6, 3, 8), datetime(2025, 6, 3, 16)), earlier_h=1.0,
                later_h=2.0, return_earlier_h=0.0, return_later_h=5.0, **changes)
    return make_schedule(TripTable((trip,), "KGRI", 2025), {"KGRI": 0, "KDEN": 1},
                         [table.find("KGRI"), table.find("KDEN")], a)


def test_windows_hold_the_days_a_trip_may_be_moved_to():
    still, moved = made(), made(days_earlier=1, days_later=2)
    assert moved.start_h.tolist() == (still.start_h - 24.0).tolist()
    assert (moved.planned_slot - still.planned_slot).tolist() == [24, 24]
    assert (moved.last_slot - still.last_slot).tolist() == [72, 72]
    # Of the day before and the days after four hours from the planned one; of the own day the whole window.
    assert moved.looked_at()[0].nonzero()[0].tolist() == [1, 2, 3, 4, 24, 25, 26, 27, 49, 50, 51, 52, 73, 74, 75]
    # The journey home has its whole window on each of them.
    assert moved.looked_at()[1].nonzero()[0].tolist() == [24 * day + h for day in range(4) for h in range(6)]
    assert still.looked_at()[0].nonzero()[0].tolist() == [0, 1, 2, 3]


def test_the_evening_before_is_looked_at_ahead_of_a_morning_departure():
    still, early = made(), made(evening_h=16.0)
    assert (early.evening_slots.tolist(), early.own_earlier().tolist()) == ([15], still.own_earlier().tolist())
    assert early.start_h.tolist() == [still.start_h[0] - 15.0, still.start_h[1]]
    # Four to seven in the afternoon, and from seven in the morning as ever.
    assert early.looked_at()[0].nonzero()[0].tolist() == [0, 1, 2, 3, 15, 16, 17, 18]
    assert ((early.local_h[0] + early.looked_at()[0].nonzero()[0]) % 24).tolist() == [16, 17, 18, 19, 7, 8, 9, 10]
    both = made(evening_h=16.0, days_earlier=1, days_later=1)
    assert both.looked_at()[0].nonzero()[0].tolist() == [16, 17, 18, 19, 24, 25, 26, 27, 39, 40, 41, 42, 64, 65, 66]


def test_a_week_later_is_one_day_not_seven():
    moved = made(days_later=7, day_step=7)
    assert moved.looked_at()[0].nonzero()[0].tolist() == [0, 1, 2, 3, 169, 170, 171]


def test_a_trip_at_the_year_s_edge_is_moved_only_within_what_is_looked_at():
    a = packaged_assumptions()
    airports = [AirportTable.packaged(a).find(i) for i in ("KGRI", "KDEN")]
    trips = [Trip("t", ("KGRI", "KDEN", "KGRI"), (datetime(2025, m, d, 8), datetime(2025, m, d, 16)), days_earlier=14,
                  days_later=14) for m, d in ((1, 1), (1, 4), (12, 30))]
    found = make_schedule(TripTable(tuple(trips), "KGRI", 2025), {"KGRI": 0, "KDEN": 1}, airports, a)
    assert found.days_earlier.tolist() == [0, 3, 14]
    assert found.days_later.tolist() == [14, 14, 14]


@pytest.mark.parametrize(("worth_usd", "costs_usd", "days"), [(200.0, 150.0, 2), (200.0, 200.0, 0), (None, 900.0, 2)])
def test_nobody_moves_a_trip_for_more_than_it_is_worth(worth_usd, costs_usd, days):
    assert made(days_later=2, optional_value_usd=worth_usd, moved_usd=costs_usd).days_later.tolist() == [days]


def test_the_year_begins_on_its_weekday():
    assert made().first_weekday == 2    # 2025 began on a Wednesday
