from __future__ import annotations

import csv
import io
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import InputError
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.files import TextFile, demo_folder, read_text
from missionsim.study.inputs.trip_list import COLUMNS, ListContext, ListFormat, as_rows, read_trips
from missionsim.world.airports.table import AirportTable
from missionsim.year.schedule import DAYS_AFTER_YEAR, MAX_LATER_H, YEAR_AND_AFTER_H

ASSUMPTIONS = packaged_assumptions()
AIRPORTS = AirportTable.packaged(ASSUMPTIONS)
HOME = "KGRI"


def read(text, year=None, **form):
    context = ListContext(HOME, "America/Chicago", AIRPORTS.find, ASSUMPTIONS, year)
    return read_trips(TextFile(Path("t.csv"), "t.csv", text, "0"), ListFormat(**form), context)


def refused(text, **form):
    with pytest.raises(InputError) as caught:
        read(text, **form)
    return caught.value.faults


# What is read


def test_two_columns_are_enough():
    trip = read("date,to\n2025-03-04,OMA\n")[0]
    assert trip.stops == ("KGRI", "KOMA", "KGRI")
    assert trip.departs_local == (datetime(2025, 3, 4, 8), datetime(2025, 3, 4, 16, 30))
    assert (trip.adults, trip.children, trip.must_go) == (1, 0, False)
    assert trip.trip_id == "line 2"


def test_the_fewest_adults_of_a_trip_are_as_many_as_go_or_fewer():
    assert read("date,to,adults\n2025-03-04,OMA,3\n")[0].adults_least is None
    some = read("date,to,adults,children,adults_least\n2025-03-04,OMA,3,1,2\n")
    assert some[0].adults_least == 2
    assert as_rows(some)[0]["adults_least"] == "2"
    fault = refused("date,to,adults,adults_least\n2025-03-04,OMA,2,3\n")[0]
    assert (fault.key, "of 2 adults" in str(fault)) == ("adults_least", True)


@pytest.mark.parametrize(("cells", "evening_h"), [
    (",,", 0.0), ("yes,,", 16.0), ("yes,3,", 0.0), ("yes,14,", 14.0), ("yes,20,", 16.0), (",,yes", 16.0),
    ("yes,,no", 0.0)])
def test_who_has_to_be_there_may_leave_the_evening_before(cells, evening_h):
    found = read(f"date,to,must_go,earlier_h,evening_before\n2025-03-04,OMA,{cells}\n")
    assert found[0].evening_h == evening_h
    assert as_rows(found)[0]["evening_before"] == ("yes" if evening_h else "no")


def test_what_moving_a_trip_costs_is_read_and_written_back():
    moves = read("date,to,days_later,moved_usd,moved_h\n2025-03-04,OMA,2,120,\n")
    assert (moves[0].moved_usd, moves[0].moved_h) == (120.0, None)
    assert (as_rows(moves)[0]["moved_usd"], as_rows(moves)[0]["moved_h"]) == ("120", "")


@pytest.mark.parametrize("cell", ["KLBF KOGA", "LBF;OGA", "KLBF > KOGA", "KLBF->KOGA", "KLBF-KOGA", "klbf/koga",
                                  "KLBF → KOGA", '"KLBF, KOGA"', "KGRI KLBF KOGA KGRI"])
def test_several_places_in_a_cell(cell):
    trip = read(f"date,to\n2025-03-04,{cell}\n")[0]
    assert trip.stops == ("KGRI", "KLBF", "KOGA", "KGRI")
    assert trip.departs_local[0] < trip.departs_local[1] < trip.departs_local[2]


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_delimiters_and_line_ends(delimiter, ending):
    lines = [delimiter.join(cells) for cells in (("date", "to", "bags_lb"), ("2025-03-04", "KOMA", "35.5"))]
    assert read(ending.join(lines))[0].bags_lb == 35.5


def test_a_spreadsheets_separator_line_comments_and_blank_lines():
    text = 'sep=;\n\n# a note; with "half a quote\ndate;to\n;;\n2025-03-04;KOMA\n\n# end\n'
    table = read(text)
    assert len(table) == 1
    assert table[0].trip_id == "line 6"


def test_own_headings_by_a_map():
    columns = {"date": "Start Date", "return": "End Date", "return_time": "End Time", "people": "Seats", "to": "Where"}
    text = "Start Date,End Date,End Time,Where,Seats,Colour\n3/14/2025,3/16/2025,1:15 PM,APA,3,red\n"
    table = read(text, columns=columns)
    assert table[0].departs_local[-1] == datetime(2025, 3, 16, 13, 15)
    assert table[0].people == 3
    assert any("columns not used: Colour" in n for n in table.notes)


def test_return_may_be_a_date_a_moment_or_a_time_or_nights():
    rows = ["2025-03-04,2025-03-06,", "2025-03-04,2025-03-06 13:00,", "2025-03-04,15:00,", "2025-03-04,,2"]
    table = read("date,return,nights,to\n" + "".join(f"{r},KOMA\n" for r in rows))
    assert [t.departs_local[-1] for t in table] == [datetime(2025, 3, 6, 16, 30), datetime(2025, 3, 6, 13),
                                                    datetime(2025, 3, 4, 15), datetime(2025, 3, 6, 16, 30)]


def test_midnight_of_a_calendar_is_no_time():
    trip = read("date,time,to\n2025-03-04 00:00:00,12:00 AM,KOMA\n")[0]
    assert trip.departs_local[0] == datetime(2025, 3, 4, 8)


def test_universal_time_becomes_the_clock_of_the_place():
    trip = read("date,return,to\n2025-07-08T13:00Z,2025-07-09T20:00Z,KAPA\n")[0]
    assert trip.departs_local == (datetime(2025, 7, 8, 8), datetime(2025, 7, 9, 14))  # Central, then Mountain


def test_slashed_dates_follow_the_column_and_a_doubt_is_noted():
    assert read("date,to\n4/3/2025,KOMA\n25/3/2025,KOMA\n")[0].departs_local[0].month == 3
    table = read("date,to,people\n4/3/2025,KOMA,2\n")
    assert table[0].departs_local[0].month == 4
    assert "read month first" in table.notes[0]
    assert read("date,to\n4/3/2025,KOMA\n", date_format="day/month/year")[0].departs_local[0].month == 3


def test_leap_days_exist_in_leap_years_only():
    assert read("date,to\n2024-02-29,KOMA\n").year == 2024
    faults = refused("date,to\n2025-02-29,KOMA\n")
    assert str(faults[0]) == ("t.csv:2: date: is '2025-02-29'; accepted: a day that exists; 2025 has no 29 February.")


def test_the_hour_that_does_not_exist_and_the_one_that_comes_twice_are_read():
    table = read("date,time,return_time,to,adults\n2025-03-09,02:30,12:00,KOMA,1\n2025-11-02,01:30,12:00,KOMA,1\n")
    assert len(table) == 2
    said = "2025-03-09 02:30 at KGRI is skipped by daylight saving; taken as 03:30 after the jump"
    assert table.notes == (f"t.csv: line 2: {said}",)


def test_a_skipped_hour_counts_on_the_clock_of_the_place_left():
    table = read("date,return,return_time,to,adults\n2025-03-08,2025-03-09,02:30,KPHX,1\n"
                 "2025-03-08,2025-03-09,02:30,KAPA,1\n")
    skipped = [n for n in table.notes if "at one time" not in n]
    assert ["KAPA" in n and "line 3" in n for n in skipped] == [True]  # Arizona keeps standard time


def test_only_the_years_trips_count_and_the_others_are_counted():
    text = "date,to\n2024-12-31,KOMA\n2025-01-01,KOMA\n2025-12-31,KLNK\n2026-01-01,KOMA\n"
    table = read(text)
    assert (table.year, len(table), table.outside_year) == (2025, 2, 2)
    assert read(text, year=2026).outside_year == 3
    with pytest.raises(InputError, match="no trip starts in 2031; the list runs from 2024-12-31 to 2026-01-01"):
        read(text, year=2031)


@pytest.mark.parametrize(("row", "key"), [("2025-12-20,2026-01-15,,", "return"), ("2025-12-20,,26,", "nights"),
                                          ("2025-12-30,2026-01-20 09:00,,KLNK ", "return")])
def test_a_return_that_nobody_would_see_is_refused(row, key):
    text = f"date,return,nights,to\n2025-05-01,,,KOMA\n{row}KOMA\n2025-06-01,,,KHYZ\n"
    late, unknown = sorted(refused(text), key=lambda fault: fault.line)
    assert (late.line, late.key, unknown.line) == (3, key, 4)
    day = "2026-01-20" if "KLNK" in row else "2026-01-15"
    assert str(late) == (f"t.csv:3: {key}: comes home on {day}; accepted: a day until 2026-01-14, 14 days after the "
                         "year that is flown, 2025.")


def test_a_return_in_the_new_year_is_read_and_a_late_one_of_another_year_is_left_out():
    assert read("date,return,to\n2025-12-20,2026-01-14 23:59,KOMA\n")[0].departs_local[-1].day == 14
    text = "date,return,to\n2024-12-20,2025-01-25,KOMA\n2025-05-01,,KOMA\n2025-05-02,,KOMA\n"
    assert read(text).outside_year == 1
    assert len(refused(text.replace("2025-05-02", "2024-05-02").replace("2025-05-01", "2024-05-01"))) == 1


def test_a_logbook_that_comes_home_too_late_is_refused_at_the_leg_that_leaves_home():
    faults = refused("date,from,to\n2025-12-20,KGRI,KOMA\n2026-01-25,KOMA,KGRI\n", rows="legs")
    assert [(f.line, f.key) for f in faults] == [(2, "date")]
    assert "comes home on 2026-01-25; accepted: a day until 2026-01-14" in str(faults[0])


def test_what_is_accepted_leaves_time_to_slip_rest_and_mend_before_the_end():
    last_h = 366 * 24.0 + DAYS_AFTER_YEAR * 24.0 + 12.0  # of a leap year, twelve hours west of UTC
    assert last_h + MAX_LATER_H + 48.0 <= YEAR_AND_AFTER_H
    assert last_h + MAX_LATER_H + 144.0 > YEAR_AND_AFTER_H


def test_trips_come_in_order_of_departure():
    table = read("date,to\n2025-05-01,KOMA\n2025-02-01,KLNK\n")
    assert [t.destinations[0] for t in table] == ["KLNK", "KOMA"]


def test_a_westbound_hop_may_leave_earlier_by_the_clock_than_it_came():
    text = "date,time,to,leaves\n2025-07-08,08:00,KIML KAKO,2025-07-08 07:40;2025-07-08 12:00\n"
    trip = read(text)[0]  # Imperial keeps Mountain time: 07:40 there is 08:40 at home
    assert [t.hour for t in trip.departs_local] == [8, 7, 12]


# What is refused, each with its line


@pytest.mark.parametrize(("row", "column", "words"), [
    ("2025-03-04,KOMB,,,,", "to", "no airport 'KOMB' is known"),
    (",KOMA,,,,", "date", "is empty"),
    ("2025-03-04,,,,,", "to", "is empty"),
    ("2025-03-04,KGRI,,,,", "to", "goes nowhere but home"),
    ("2025-03-04,KOMA KOMA,,,,", "to", "twice in a row"),
    ("2025-03-04,KOMA,0,,,", "adults", "is '0'; accepted: a whole number from 1 to 20"),
    ("2025-03-04,KOMA,2.5,,,", "adults", "whole number"),
    ("2025-03-04,KOMA,,nan,,", "bags_lb", "a number"),
    ("2025-03-04,KOMA,,9000,,", "bags_lb", "from 0 to 5,000"),
    ("2025-03-04,KOMA,,,perhaps,", "must_go", "yes or no"),
    ("2025-03-04,KOMA,,,,2025-03-01", "return", "before it leaves"),
    ("2025-03-04,KOMA,,,,2026-03-04", "return", "at most 60 nights"),
    ("2025-03-04,KOMA,,,,06:00", "return", "before it leaves"),
    ("#REF!,KOMA,,,,", "date", "a date such as"),
])
def test_each_fault_names_line_column_and_what_is_accepted(row, column, words):
    faults = refused(f"date,to,adults,bags_lb,must_go,return\n2025-01-02,KLNK,1,,,\n{row}\n")
    assert len(faults) == 1
    assert (faults[0].line, faults[0].key) == (3, column)
    assert words in str(faults[0])


def test_a_misspelt_airport_offers_a_near_one():
    assert refused("date,to\n2025-03-04,K0MA\n")[0].near == "KOMA"


def test_all_rows_report_at_once():
    faults = refused("date,to,adults\n2025-03-04,KOMX,1\n2025-13-04,KOMA,1\n2025-03-04,KOMA,99\n")
    assert [f.line for f in faults] == [2, 3, 4]


def test_the_same_id_twice_is_a_fault():
    faults = refused("trip_id,date,to\na,2025-03-04,KOMA\nb,2025-03-05,KOMA\na,2025-03-06,KOMA\n")
    assert (faults[0].line, faults[0].key) == (4, "trip_id")


@pytest.mark.parametrize(("text", "words"), [
    ("", "no header line"), ("# only\n", "no header line"), ("date,to\n", "holds no trips"),
    ("when,where\n2025-03-04,KOMA\n", "no such column"), ("date,to,to\n2025-03-04,KOMA,KLNK\n", "several columns"),
    ("date,to,adlts\n2025-03-04,KOMA,1\n", "Did you mean 'adults'"),
    ("date,to\n2025-03-04,KOMA,KLNK\n", "3 cells under 2"),
    ('date,to\n2025-03-04,"KOMA\n' + "2025-03-05,KOMA\n" * 80, "not closed"),
])
def test_tables_that_cannot_be_read_say_why(text, words):
    assert words in "\n".join(map(str, refused(text)))


def test_a_heading_named_in_the_study_must_be_there():
    faults = refused("Start Date,to\n2025-03-04,KOMA\n", columns={"date": "Start Dat"})
    assert "no column has the heading 'Start Dat'" in str(faults[0])
    assert faults[0].near == "Start Date"


def test_a_trip_from_elsewhere_points_to_logbooks():
    assert "rows: legs" in str(refused("date,from,to\n2025-03-04,KOMA,KLNK\n")[0])


# Logbooks


def logbook(rows, columns="date,time,from,to"):
    return read(f"{columns}\n" + "\n".join(rows) + "\n", rows="legs")


def test_legs_are_joined_from_home_to_home():
    table = logbook(["2025-03-04,08:00,KGRI,KLBF", "2025-03-04,11:00,KLBF,KOGA", "2025-03-05,15:00,KOGA,KGRI"])
    assert table.from_logbook
    assert table[0].stops == ("KGRI", "KLBF", "KOGA", "KGRI")
    assert table[0].departs_local == (datetime(2025, 3, 4, 8), datetime(2025, 3, 4, 11), datetime(2025, 3, 5, 15))
    assert any("only the trips that went" in n for n in table.notes)


def test_a_log_with_the_newest_leg_first_is_turned():
    rows = ["2025-03-09,,KOMA,KGRI", "2025-03-09,,KGRI,KOMA", "2025-03-04,,KLNK,KGRI", "2025-03-04,,KGRI,KLNK"]
    assert [t.destinations for t in logbook(rows)] == [("KLNK",), ("KOMA",)]


def test_what_cannot_be_joined_is_listed_with_its_reason():
    table = logbook(["2025-01-01,,KGRI,KGRI", "2025-01-02,,KOMA,KLNK", "2025-01-03,,KGRI,KOMA", "2025-01-04,,KLNK,KGRI",
                     "2025-01-05,,KGRI,KOMA", "2025-01-06,,KOMA,KGRI", "2025-12-30,,KGRI,KOMA"])
    assert len(table) == 1
    reasons = {u.line: u.why for u in table.unstitched}
    assert set(reasons) == {3, 4, 5, 8}
    assert table.local_flights == 1  # line 2
    assert "starts at KOMA, with no leg from home" in reasons[3]
    assert "the next leg (line 5) starts at KLNK, not KOMA" in reasons[4]
    assert "ends before the trip comes home" in reasons[8]


def test_landings_for_fuel_are_no_places_of_the_trip():
    table = logbook(["2025-03-04,08:00,KGRI,KPIR,x", "2025-03-04,10:00,KPIR,KRAP,", "2025-03-05,10:00,KRAP,KGRI,"],
                    "date,time,from,to,fuel_stop")
    assert table[0].stops == ("KGRI", "KRAP", "KGRI")


def test_every_leg_is_in_one_trip_or_listed():
    rng = np.random.default_rng(4)
    places = ["KGRI", "KOMA", "KLNK", "KGRI"]
    pairs = [rng.choice(4, 2) for _ in range(300)]
    rows = [f"2025-{1 + i // 28:02d}-{1 + i % 28:02d},,{places[a]},{places[b]}" for i, (a, b) in enumerate(pairs)]
    table = logbook(rows)
    assert table.legs + len(table.unstitched) + table.local_flights == 300


# The demo, and lists written by us


def test_written_rows_read_back_to_the_same_trips():
    source = read_text(demo_folder() / "trips" / "farm_dealer.csv")
    context = ListContext(HOME, "America/Chicago", AIRPORTS.find, ASSUMPTIONS)
    table = read_trips(source, ListFormat(), context)
    out = io.StringIO()
    other_ways = ("nights", "people", "passengers", "fuel_stop", "hours")
    writer = csv.DictWriter(out, fieldnames=[c for c in COLUMNS if c not in other_ways])
    writer.writeheader()
    writer.writerows(as_rows(table))
    assert read(out.getvalue()).trips == table.trips


def test_the_demo_year_is_as_varied_as_it_should_be():
    context = ListContext(HOME, "America/Chicago", AIRPORTS.find, ASSUMPTIONS)
    table = read_trips(read_text(demo_folder() / "trips" / "farm_dealer.csv"), ListFormat(), context)
    where = {p: AIRPORTS.find(p) for p in table.places()}
    legs = np.array([haversine_nm(where[a].latitude_deg, where[a].longitude_deg, where[b].latitude_deg,
                                  where[b].longitude_deg)
                     for t in table for a, b in zip(t.stops, t.stops[1:], strict=False)])
    assert 55 <= len(table) <= 65
    assert 125 <= table.legs <= 140
    # Errands near by, and as many to a second store and customers that are half a day away by road.
    assert 150 <= np.median(legs) <= 220
    assert 0.25 <= np.mean(legs < 130) <= 0.40
    assert 0.08 <= np.mean(legs > 350) <= 0.15
    # 165 kt less climb and wind is about 155 kt over the ground, and 0.1 h of climb-out and pattern a leg.
    assert 130 <= (legs / 155 + 0.1).sum() <= 200
    assert {t.people for t in table} == {1, 2, 3, 4, 5}
    assert sum(t.must_go for t in table) >= 10
    assert {where[p].region for p in where} >= {"US-NE", "US-CO", "US-WY", "US-MT"}
    assert table.outside_year == 0


def test_the_small_examples_read():
    context = ListContext(HOME, "America/Chicago", AIRPORTS.find, ASSUMPTIONS)
    calendar = ListFormat({"date": "Start Date", "time": "Start Time", "return": "End Date", "return_time": "End Time",
                           "to": "Location", "adults": "People", "children": "Kids", "bags_lb": "Luggage",
                           "must_go": "Cannot be moved", "purpose": "Subject"})
    table = read_trips(read_text(demo_folder() / "trips" / "calendar_export.csv"), calendar, context)
    assert [t.people for t in table] == [2, 1, 2, 3, 5]
    assert table[0].bags_lb == 35.5
    assert table[1].must_go
    log = ListFormat({"time": "Out", "people": "On board", "purpose": "Remarks", "fuel_stop": "Fuel only"}, "legs")
    table = read_trips(read_text(demo_folder() / "trips" / "logbook.csv"), log, context)
    assert [t.stops[1:-1] for t in table] == [("KOMA",), ("KLBF", "KOGA"), ("KRAP",)]
    assert (len(table.unstitched), table.local_flights, len(table.set_aside)) == (2, 1, 2)  # the shop is no errand


def test_five_thousand_trips_are_read_in_a_second_or_two():
    rows = [f"2025-{1 + i % 12:02d}-{1 + i % 28:02d},KOMA KLNK,2,1,40" for i in range(5_000)]
    assert len(read("date,to,adults,children,bags_lb\n" + "\n".join(rows))) == 5_000


CELLS = st.sampled_from(["", "2025-03-04", "3/4/2025", "45720", "KOMA", "KLBF KOGA", "K0MA", "KGRI", "x", "-1", "2",
                         "35,5", "1.200", "08:30", "2025-02-29", "\u00e9", "#REF!", '"', "yes", "99999999",
                         "2025-03-04T08:30Z", "2025-03-09 02:30", " ", "'", "nan", "=1+1"])


@settings(max_examples=150)
@given(st.lists(st.lists(CELLS, min_size=1, max_size=9), max_size=6), st.sampled_from([",", ";", "\t"]),
       st.sampled_from(["trips", "legs"]), st.sampled_from([None, True, False]))
def test_any_table_is_read_or_refused_with_lines(rows, delimiter, kind, decimal_comma):
    header = ["date", "to", "from", "return", "adults", "bags_lb", "must_go", "nights", "leaves"]
    text = "\n".join(delimiter.join(cells) for cells in [header, *rows])
    try:
        table = read(text, rows=kind, decimal_comma=decimal_comma)
    except InputError as error:
        assert all(f.file == "t.csv" and f.what for f in error.faults)  # noqa: PT017
    else:
        assert all(np.isfinite([t.bags_lb, t.earlier_h, t.later_h]).all() and t.stops[0] == HOME == t.stops[-1]
                   for t in table)
