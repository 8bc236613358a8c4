"""Renting through a year: how often the aircraft is had, what becomes of trips without it, and whom they hold up."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest
from study_cases import small_study

from missionsim.base.words import BIT, Outcome, Reason
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import YearColumns, people_of, weather_of
from missionsim.study.replicate.rented_year import Renting, available, over_weekend, rented_years
from missionsim.study.replicate.tally import tally

YEARS = range(4)
BOOKED = str(Reason.BOOKED)


@pytest.fixture(scope="module")
def prepared():
    return prepare(small_study(trips=12), rental=True)


@pytest.fixture(scope="module")
def always(prepared):
    """Years in which nobody else ever has the aircraft."""
    return rented(had_by(prepared, 1.0), YEARS)


def had_by(prepared, share, longest_nights=365):
    """Return the study with the aircraft to be had for a share of all trips."""
    a = prepared.study.assumptions.replaced({"keeping.rent_longest_nights": longest_nights,
                                             "keeping.rent_available_share": {"weekday": share, "weekend": share}})
    return replace(prepared, study=replace(prepared.study, assumptions=a))


def rented(prepared, replications):
    """Return the columns of rented years, flown together as a chunk."""
    renting = Renting(prepared, replications, people_of(prepared, replications))
    for replication in replications:
        renting.fly(weather_of(prepared, replication), replication)
    return renting.columns()


def test_it_is_had_as_often_as_said(prepared):
    a = prepared.study.assumptions["keeping.rent_available_share"]
    had = available(prepared, range(400))
    for k, trip in enumerate(prepared.table):
        share = a["weekend" if over_weekend(trip) else "weekday"]
        assert had[:, k].mean() == pytest.approx(share, abs=4 * (share * (1 - share) / 400) ** 0.5)
    assert (available(prepared, [3]) == had[3]).all()


def test_it_is_not_let_for_longer_than_said(prepared):
    assert available(had_by(prepared, 1.0, 0), [0]).tolist() == [[trip.nights == 0 for trip in prepared.table]]


def test_a_weekend_lies_within_a_trip_where_one_of_its_days_does(prepared):
    for trip in prepared.table:
        first, last = trip.departs_local[0].date(), trip.departs_local[-1].date()
        days = [first + timedelta(days=k) for k in range((last - first).days + 1)]
        assert over_weekend(trip) == any(day.weekday() in (5, 6) for day in days)


def test_years_laid_together_are_each_as_alone(prepared):
    both, apart = rented(prepared, [2, 3]), YearColumns.stacked([rented(prepared, [r]) for r in (2, 3)])
    for name in ("flights", "trips"):
        for key, values in getattr(both, name).items():
            np.testing.assert_array_equal(values, getattr(apart, name)[key], err_msg=key)


def test_others_look_after_it(always):
    assert len(always.flights["trip"]) > 0
    assert (always.trips["reason"] != "maintenance").all()
    assert all(len(values) == 0 for values in always.shop.values())


def test_where_it_can_never_be_had_trips_are_refused_for_that_alone_but_for_what_no_day_helps(prepared, always):
    never, structural = rented(had_by(prepared, 0.0), YEARS), always.trips["structural"]
    assert {"seats"} == set(always.trips["reason"][structural])
    # Some of the trips would also have stayed at home for the weather: who has no aircraft never looked at it.
    assert {"ceiling", "icing"} <= set(always.trips["reason"][~structural & (always.trips["outcome"] == "refused")])
    assert len(never.flights["trip"]) == 0
    assert (never.trips["outcome"] == str(Outcome.REFUSED)).all()
    without = ~structural
    assert (never.trips["reason"][without] == BOOKED).all()
    assert (never.trips["reasons"][without] == BIT[Reason.BOOKED]).all()
    assert not never.trips["structural"][without].any()
    for key, values in never.trips.items():
        np.testing.assert_array_equal(values[structural], always.trips[key][structural], err_msg=key)


def test_sums_tell_both_kinds_apart(prepared):
    none = had_by(prepared, 0.0)
    years = rented_years(none, rented(none, YEARS), YEARS)
    part = tally(years, None, YEARS, none.books(none.rental.flyers[0]), 0, [a.ident for a in none.places.airports])
    reasons = list(Reason)
    assert part.structural[:, reasons.index(Reason.SEATS)].tolist() == [1, 1, 1, 1]
    assert part.structural.sum() == 4
    assert part.on_the_day[:, reasons.index(Reason.BOOKED)].tolist() == [11, 11, 11, 11]
    assert part.on_the_day.sum() == 44


def test_trips_that_have_it_are_flown_as_if_nobody_else_ever_did(prepared, always):
    """No two of these trips are near each other: whoever has the aircraft meets the same year."""
    some = had_by(prepared, 0.5)
    found, had = rented(some, YEARS), available(some, YEARS).ravel()
    assert 0 < had.sum() < len(had)
    for key, values in found.trips.items():
        np.testing.assert_array_equal(values[had], always.trips[key][had], err_msg=key)
    assert set(found.trips["reason"][~had]) <= {BOOKED, "seats"}
    ours = had.reshape(4, 12)[always.flights["replication"], always.flights["trip"]]
    for key, values in found.flights.items():
        if key == "fuel_uplift_gal":    # fills up what the flight before burned, which may be another one
            continue
        np.testing.assert_array_equal(values, always.flights[key][ours], err_msg=key)


def test_a_trip_without_it_holds_nobody_up():
    """Twice the same trip at the same hours: the second finds the aircraft gone, but where the first could not have it.
    In the first replication each in which both have it, and the second alone."""
    study = small_study(trips=2)
    one = study.listed.trips[1]
    twice = replace(study, listed=replace(study.listed, trips=(one, replace(one, trip_id="again"))))
    ready = had_by(prepare(twice, rental=True), 0.5)
    had = available(ready, range(40)).tolist()
    both, second = had.index([True, True]), had.index([False, True])
    at_once, alone = rented(ready, [both]).trips, rented(ready, [second]).trips
    assert at_once["outcome"].tolist() == ["completed", "refused"]
    assert at_once["reason"].tolist() == ["", BOOKED]
    assert alone["outcome"].tolist() == ["refused", "completed"]
    assert alone["departed_h"][1] == alone["planned_h"][1]
