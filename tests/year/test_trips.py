from __future__ import annotations

from datetime import date, datetime, time, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.assumptions import packaged_assumptions
from missionsim.year.trips import (
    Trip,
    TripTable,
    after_jump,
    clock,
    first_departure,
    last_departure,
    local_time,
    plan_departures,
    skipped_note,
    usual_bags_lb,
    usual_flexibility,
    utc_hours,
)

CHICAGO = "America/Chicago"

# Source: US daylight saving rule of the Energy Policy Act of 2005 (second Sunday of March to first Sunday of November,
# 02:00 local); central standard time is UTC-6. In 2025 the changes fall on 9 March and 2 November.
CLOCKS = [
    (datetime(2025, 1, 1, 0, 0), 6.0),
    (datetime(2025, 3, 9, 1, 59), (31 + 28 + 8) * 24 + 1 + 59 / 60 + 6),
    (datetime(2025, 3, 9, 3, 0), (31 + 28 + 8) * 24 + 3 + 5),
    (datetime(2025, 7, 4, 12, 0), (181 + 3) * 24 + 12 + 5),
    (datetime(2025, 11, 2, 1, 30), (304 + 1) * 24 + 1.5 + 5),
    (datetime(2025, 11, 2, 2, 0), (304 + 1) * 24 + 2 + 6),
]


@pytest.mark.parametrize(("local", "hours"), CLOCKS)
def test_utc_hours_follow_the_us_daylight_saving_rule(local, hours):
    assert utc_hours(local, CHICAGO, 2025) == pytest.approx(hours, abs=1e-9)


def test_a_time_in_the_skipped_hour_is_the_same_time_after_the_jump():
    skipped = utc_hours(datetime(2025, 3, 9, 2, 30), CHICAGO, 2025)
    assert skipped == utc_hours(datetime(2025, 3, 9, 3, 30), CHICAGO, 2025)


@given(st.datetimes(datetime(2025, 1, 1), datetime(2026, 1, 1)), st.sampled_from([CHICAGO, "America/Phoenix", "UTC"]))
def test_only_a_skipped_time_moves_and_counts_as_the_one_it_moves_to(local, zone):
    local = local.replace(second=0, microsecond=0)
    shown = after_jump(local, zone)
    skipped = zone == CHICAGO and datetime(2025, 3, 9, 2) <= local < datetime(2025, 3, 9, 3)
    assert shown - local == timedelta(hours=skipped)
    assert utc_hours(shown, zone, 2025) == utc_hours(local, zone, 2025)
    assert bool(skipped_note(local, zone, "KGRI")) is skipped


@pytest.mark.parametrize("minute", [0, 30, 59])
def test_the_skipped_hour_is_told(minute):
    assert after_jump(datetime(2025, 3, 9, 2, minute), CHICAGO) == datetime(2025, 3, 9, 3, minute)
    assert skipped_note(datetime(2025, 3, 9, 2, minute), CHICAGO, "KGRI") == (
        f"2025-03-09 02:{minute:02d} at KGRI is skipped by daylight saving; taken as 03:{minute:02d} after the jump")


def test_local_time_undoes_utc_hours_through_both_changes():
    for day in (datetime(2025, 3, 8), datetime(2025, 11, 1), datetime(2024, 2, 29)):
        for hour in range(49):
            utc = utc_hours(day, CHICAGO, day.year) + hour
            back = utc_hours(local_time(utc, CHICAGO, day.year), CHICAGO, day.year)
            assert utc - back in {0.0, 1.0}  # the repeated hour counts as its first pass


def test_hours_run_on_past_the_year_and_before_it():
    assert utc_hours(datetime(2026, 1, 1), "UTC", 2025) == 8760.0
    assert utc_hours(datetime(2024, 12, 31), "UTC", 2025) == -24.0


def test_a_trip_needs_a_departure_for_every_leg():
    with pytest.raises(ValueError, match="need one departure less"):
        Trip("a", ("KGRI", "KOMA", "KGRI"), (datetime(2025, 1, 1),))


def test_a_trip_counts_people_legs_and_nights():
    trip = Trip("a", ("KGRI", "KOMA", "KLNK", "KGRI"),
                (datetime(2025, 1, 1, 8), datetime(2025, 1, 2, 8), datetime(2025, 1, 3, 16)), 2, 3)
    assert (trip.people, trip.legs, trip.nights, trip.destinations) == (5, 3, 2, ("KOMA", "KLNK"))


def test_places_begin_with_home_and_pairs_have_a_direction():
    day = (datetime(2025, 1, 1, 8), datetime(2025, 1, 1, 16))
    trips = (Trip("a", ("KGRI", "KOMA", "KGRI"), day), Trip("b", ("KGRI", "KAIA", "KGRI"), day))
    table = TripTable(trips, "KGRI", 2025)
    assert table.places() == ("KGRI", "KAIA", "KOMA")
    assert table.pairs() == (("KAIA", "KGRI"), ("KGRI", "KAIA"), ("KGRI", "KOMA"), ("KOMA", "KGRI"))
    assert table.legs == 4


def test_a_day_trip_without_times_leaves_in_the_morning_and_comes_home_in_the_afternoon(assumptions):
    first = first_departure(date(2025, 5, 5), None, assumptions)
    last = last_departure(first, date(2025, 5, 5), None, 1, assumptions)
    assert first.time() == clock(assumptions["trip.leave_local_h"])
    assert last.time() == clock(assumptions["trip.return_local_h"])


def test_more_places_in_a_day_come_home_later(assumptions):
    first = first_departure(date(2025, 5, 5), None, assumptions)
    homes = [last_departure(first, date(2025, 5, 5), None, n, assumptions) for n in range(1, 6)]
    assert homes == sorted(homes)
    assert homes[3] > homes[0]


def test_the_users_time_wins(assumptions):
    first = first_departure(date(2025, 5, 5), time(6, 15), assumptions)
    assert first == datetime(2025, 5, 5, 6, 15)
    assert last_departure(first, date(2025, 5, 5), time(9, 0), 3, assumptions) == datetime(2025, 5, 5, 9)


@given(st.integers(2, 13), st.integers(0, 60 * 24 * 20), st.integers(0, 23))
def test_departures_keep_both_ends_and_the_order(legs, minutes, hour):
    first = datetime(2025, 6, 1, hour)
    last = first + timedelta(minutes=minutes)
    planned = plan_departures(first, last, legs, packaged_assumptions())
    assert len(planned) == legs
    assert (planned[0], planned[-1]) == (first, last)
    assert list(planned) == sorted(planned)


def test_departures_of_a_long_trip_avoid_the_night(assumptions):
    planned = plan_departures(datetime(2025, 6, 1, 8), datetime(2025, 6, 5, 16), 5, assumptions)
    latest = clock(assumptions["trip.latest_departure_local_h"])
    assert all(clock(assumptions["trip.leave_local_h"]) <= t.time() <= latest for t in planned)


def test_nights_away_bring_flexibility_and_heavier_bags(assumptions):
    assert usual_flexibility(2, assumptions).later_h > usual_flexibility(0, assumptions).later_h
    assert usual_bags_lb(3, 0, assumptions) == 3 * assumptions["trip.bag_day_lb"]
    assert usual_bags_lb(3, 2, assumptions) == 3 * assumptions["trip.bag_overnight_lb"]
