"""What is summed of a year, from records written by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from money_cases import columns, flight, trip

from missionsim.base.words import REASONS, Reason
from missionsim.money.categories import CATEGORIES, Category
from missionsim.money.categories import CODE as CATEGORY_CODE
from missionsim.study.replicate import tally as under_test
from missionsim.study.replicate.tally import MEASURES, OUTCOMES, KeptRecords

REPLICATIONS = np.array([4, 5])
FLIGHTS, TRIPS, SHOP = columns(
    [flight(4, 0, block_h=1.3), flight(4, -1, purpose="local", flight_h=0.5, block_h=0.75, fuel=6.0, people=1),
     flight(5, 0, flight_h=2.0, block_h=2.25, fuel=23.0, people=3)],
    [trip(4, 0), trip(4, 1, outcome="refused", reason="payload", structural=True),
     trip(4, 2, outcome="refused", reason="ceiling"), trip(5, 0, outcome="delayed", reason="wind", nights_forced=1),
     trip(5, 1, outcome="broken_off", reason="icing"), trip(5, 2)])
ROW, CODE = (np.array(values) for values in ([0, 0, 0, 1, 1, 1], [0, 3, 3, 1, 2, 0]))
REASON = np.array([-1 if not r else REASONS.index(Reason(r)) for r in TRIPS["reason"]])


def test_hours_fuel_and_outcomes_stand_in_their_own_columns(assumptions):
    names = ("person_h", "party_h", "valued_h", "flown_h", "other_on_dates", "must_go", "given_up", "car_usd",
             "airline_usd", "lost_usd")
    each = SimpleNamespace(**{name: np.zeros(6, dtype=bool) for name in names}, made=np.array(CODE) <= 1, outcome=CODE,
                           against_others=lambda _: np.zeros(6), sums=lambda values, _: np.bincount(ROW, values, 2))
    each.given_up[2] = True
    flown, cents = SimpleNamespace(flights=FLIGHTS, trips=TRIPS, shop=SHOP), np.zeros((2, len(CATEGORIES)), dtype=int)
    cents[:, CATEGORY_CODE[Category.FUEL]], cents[:, CATEGORY_CODE[Category.TIME]] = [700, 800], 200
    books = SimpleNamespace(assumptions=assumptions, terms=SimpleNamespace(nights=np.zeros(3)), year=2025,
                            places=SimpleNamespace(utc_offset_h=np.zeros(1), home=0))
    table = under_test._table(flown, REPLICATIONS, ROW, CODE, each, cents, books)
    found = {name: table[:, i].tolist() for i, name in enumerate(MEASURES)}
    assert found["flight_hours"] == [1.5, 2.0]          # the local flight too
    assert found["block_hours"] == [2.05, 2.25]
    assert found["fuel_gal"] == [17.0, 23.0]
    assert found["seat_nm"] == [2 * 140.0 + 70.0, 3 * 280.0]
    assert found["trips_wanted"] == [3.0, 3.0]
    assert found["completed"] == [1.0, 2.0]             # the delayed one among them
    assert found["delayed"] == [0.0, 1.0]
    assert found["broken_off"] == [0.0, 1.0]
    assert found["trips_by_other_means"] == [1.0, 0.0]  # of two refused one is given up
    assert found["trips_given_up"] == [1.0, 0.0]
    assert found["nights_away_forced"] == [0.0, 1.0]
    # A Thursday: at least 2 hours a day, less than the 2.4 flown but where a night is forced; local hours as flown.
    assert found["rented_hours"] == pytest.approx([2.4 + 0.75, 4.0 + 2.4 + 2.4])
    assert (found["cost_cents"], found["net_cost_cents"]) == ([700.0, 800.0], [900.0, 1000.0])


def test_reasons_of_every_hour_and_of_the_day_are_told_apart():
    structural, on_the_day, delayed = under_test._reasons(SimpleNamespace(trips=TRIPS), ROW, CODE, REASON, 2)
    assert structural.nonzero()[1].tolist() == [REASONS.index(Reason.PAYLOAD)]
    assert on_the_day.nonzero()[1].tolist() == [REASONS.index(Reason.CEILING)]
    assert delayed.nonzero()[1].tolist() == [REASONS.index(Reason.WIND)]


def test_by_trip_its_outcomes_reasons_and_sums():
    counts, why, sums = under_test._by_trip(SimpleNamespace(trips=TRIPS), CODE, REASON, 3)
    assert counts[0].tolist() == [1.0, 1.0, 0.0, 0.0]
    assert counts[1, OUTCOMES.index("broken_off")] == 1.0
    assert why[1].nonzero()[0].tolist() == sorted(REASONS.index(r) for r in (Reason.PAYLOAD, Reason.ICING))
    assert sums[0].tolist() == [4.8, 8.0, 0.0, 44.0]    # block hours, door to door, stops, gallons of two years


def test_the_ledger_of_joined_parts_names_flights_by_their_row_in_all():
    none = {"replication": np.zeros(0)}
    parts = [KeptRecords({"replication": np.zeros(n)}, none, none, {"flight": np.array(rows)})
             for n, rows in ((3, [0, -1, 2]), (2, [1, -1]))]
    assert under_test._join_kept(parts).ledger["flight"].tolist() == [0, -1, 2, 4, -1]
