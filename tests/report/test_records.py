"""Tables of records: words and identifiers, money that adds up, times on the right clock."""

from __future__ import annotations

import csv
import io

import numpy as np
import pandas as pd
import pytest

from missionsim.money.categories import CATEGORIES
from missionsim.report.records import (
    csv_text,
    exact_usd,
    flight_numbers,
    flights_frame,
    ledger_frame,
    local_minutes,
    summary_frame,
    trips_frame,
    utc_minutes,
)
from missionsim.report.wording import GROUPS, MEASURES, OUTCOME


def test_the_ledger_of_a_year_is_its_net_cost_to_the_cent(comparison):
    frame = ledger_frame(comparison)
    frame["cents"] = [round(float(a) * 100) for a in frame["amount_usd"]]
    for result in comparison.results:
        own = frame[frame["candidate"] == result.name].groupby("replication")["cents"].sum()
        assert own.tolist() == [round(v * 100) for v in result.values("net_cost_usd")]


def test_flights_of_the_ledger_are_flights_of_the_table(comparison):
    flights, ledger = flights_frame(comparison), ledger_frame(comparison)
    known = set(zip(flights["candidate"], flights["replication"], flights["flight"].astype(str), flights["trip_id"],
                    strict=True))
    booked = ledger[(ledger["flight"] != "") & (ledger["category"] == "fuel")]
    assert len(booked)
    for row in booked.itertuples():
        assert (row.candidate, row.replication, row.flight, row.trip_id) in known


def test_trips_name_places_and_words(comparison):
    frame = trips_frame(comparison)
    assert len(frame) == 2 * 2 * 7
    assert set(frame["outcome"]) <= set(OUTCOME)
    four = frame[frame["trip_id"] == "four"].iloc[0]
    assert (four["to"], four["planned_local"], four["planned_utc"]) == ("KSHR > KBIL", "2025-06-10T07:00",
                                                                          "2025-06-10T12:00Z")
    never = frame[frame["outcome"] == "refused"]
    assert (never["departed_local"] == "").all()
    assert (never["reason"] != "").all()


def test_flights_leave_and_arrive_on_local_clocks(comparison):
    frame = flights_frame(comparison)
    west = frame[(frame["from"] == "KGRI") & (frame["to"] == "KAPA")]
    assert len(west)
    for row in west.itertuples():  # Mountain time is an hour behind
        away = pd.Timestamp(row.arrive_utc) - pd.Timestamp(row.depart_utc)
        assert pd.Timestamp(row.arrive_local) - pd.Timestamp(row.depart_local) == away - pd.Timedelta(hours=1)


def test_summary_has_a_row_a_measure_and_no_nan(comparison):
    frame = summary_frame(comparison)
    for result in comparison.results:
        names = frame[frame["candidate"] == result.name]["measure"].tolist()
        assert set(MEASURES) <= set(names)
        assert len(names) == len(set(names))
    assert "nan" not in csv_text(frame).lower()


def test_csv_of_hard_cells_reads_back(comparison):
    rows = list(csv.DictReader(io.StringIO(csv_text(trips_frame(comparison)))))
    assert {"five, on board", "<script>alert(2)</script> planter parts"} <= {r["purpose"] for r in rows}
    assert {r["structural"] for r in rows} <= {"yes", "no"}


def test_numbers_are_as_fine_as_their_unit():
    frame = pd.DataFrame({"block_h": [1.23456, np.nan], "x_usd": [1.005, -0.001], "n": [1, 2], "b": [True, False]})
    assert csv_text(frame).splitlines() == ["block_h,x_usd,n,b", "1.235,1,1,yes", ",0,2,no"]


@pytest.mark.parametrize(("cents", "text"),
                         [(0, "0.00"), (5, "0.05"), (-5, "-0.05"), (-12345, "-123.45"), (100, "1.00")])
def test_cents_are_exact(cents, text):
    assert exact_usd(cents) == text


def test_times_across_daylight_saving_and_years():
    hours = np.array([0.0, 24 * 180 + 0.5, np.nan, -1.0])
    assert utc_minutes(hours, 2025).tolist() == ["2025-01-01T00:00Z", "2025-06-30T00:30Z", "", "2024-12-31T23:00Z"]
    assert local_minutes(hours, ["America/Chicago"] * 4, 2025).tolist() == ["2024-12-31T18:00", "2025-06-29T19:30", "",
                                                                            "2024-12-31T17:00"]


def test_flights_are_counted_within_their_year():
    assert flight_numbers(np.array([0, 0, 0, 1, 1, 5])).tolist() == [1, 2, 3, 1, 2, 1]


def test_every_category_of_cost_is_in_exactly_one_group():
    grouped = [c for group in GROUPS.values() for c in group]
    assert sorted(grouped) == sorted(str(c) for c in CATEGORIES)


def test_a_list_is_one_cell():
    assert csv_text(pd.DataFrame([{"with": ["two", "=3"]}, {"with": []}])).splitlines() == ["with", "two; =3", '""']


def test_a_table_is_written_as_fine_as_its_units_and_unknown_as_empty():
    """Hours to a thousandth, feet whole, other numbers to the fourth decimal; no zeros at the end, none below zero."""
    frame = pd.DataFrame({
        "n": [1, 20, 300], "away_h": [1.23456, -0.0, np.inf], "level_ft": [100.0, np.nan, -0.4], "x": [0.5, 1e-9, 7.0],
        "words": ["=1+1", 'say "so", you', None], "late": [True, False, True], "why": [("wind", "ice"), [1], "a\nb"],
        "any": pd.Series([None, 7, 2.5], dtype=object)})
    assert csv_text(frame) == (
        "n,away_h,level_ft,x,words,late,why,any\n"
        "1,1.235,100,0.5,'=1+1,yes,wind; ice,\n"
        '20,0,,0,"say ""so"", you",no,1,7\n'
        '300,,0,7,,yes,"a\nb",2.5\n')
    assert csv_text(pd.DataFrame({"candidate": [], "draw": []})) == "candidate,draw\n"
