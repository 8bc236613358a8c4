"""Logbooks, calendars and spreadsheets read without a column map: what becomes a trip, and what is said of the rest."""

from __future__ import annotations

from datetime import date, datetime, time

import pytest
from openpyxl import Workbook

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import InputError
from missionsim.study.inputs.check import ListHints, check_files
from missionsim.study.inputs.columns import suggested_columns
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.world.airports.table import AirportTable

AIRPORTS = AirportTable.packaged(packaged_assumptions())
HOME = ListHints("KGRI")

LOGBOOK = """My flying
Date,Aircraft,From,To,Total Time,Night,Pax,Remarks
6-May-25,N1,KGRI,KOMA,1.0,0.2,1,dealer visit
6-May-25,N1,KOMA,KGRI,1.1,0,1,
May 9 2025,SIM,,,1.5,0,0,simulator approaches
5/12/2025,N1,KGRI,KGRI,1.2,0,0,pattern work
5/13/2025,N1,KGRI,local,0:45,0,0,
5/15/2025,N1,KGRI,(MHK),1.3,0,2,
5/17/2025,N1,KMHK,KGRI,1.3,0,2,
5/20/2025,N1,KGRI,"Lincoln, NE",0.8,0,0,annual inspection
5/22/2025,N1,KLNK,KGRI,0.8,0,0,annual inspection done
"""

CALENDAR = """BEGIN:VCALENDAR
VERSION:2.0
PRODID:-//none//none//EN
BEGIN:VEVENT
UID:1
DTSTART;TZID=America/Chicago:20250304T083000
DTEND;TZID=America/Chicago:20250304T160000
SUMMARY:Sales call
LOCATION:HYS
END:VEVENT
BEGIN:VEVENT
UID:2
DTSTART;TZID=America/Chicago:20250305T090000
DTEND;TZID=America/Chicago:20250305T093000
SUMMARY:Teeth
LOCATION:Dentist
END:VEVENT
BEGIN:VEVENT
UID:3
DTSTART;VALUE=DATE:20250606
DTEND;VALUE=DATE:20250609
SUMMARY:Family weekend
LOCATION:Omaha\\, NE
END:VEVENT
BEGIN:VEVENT
UID:4
DTSTART:20250701T130000Z
DTEND:20250701T210000Z
SUMMARY:Fly to KLBF
END:VEVENT
BEGIN:VEVENT
UID:5
DTSTART;TZID=America/Chicago:20250901T080000
DTEND;TZID=America/Chicago:20250901T170000
RRULE:FREQ=MONTHLY;COUNT=3
EXDATE;TZID=America/Chicago:20251001T080000
SUMMARY:Branch
LOCATION:KLNK
END:VEVENT
BEGIN:VEVENT
UID:6
DTSTART;TZID=America/Chicago:20250910T080000
DTEND;TZID=America/Chicago:20250910T170000
STATUS:CANCELLED
SUMMARY:Not
LOCATION:KLNK
END:VEVENT
END:VCALENDAR
"""


def check(path, text, hints=HOME):
    path.write_text(text)
    (found,) = check_files([str(path)], hints)
    return found


def test_a_logbook_as_it_is(tmp_path):
    found = check(tmp_path / "log.csv", LOGBOOK)
    assert [t.stops for t in found.table] == [("KGRI", "KOMA", "KGRI"), ("KGRI", "KMHK", "KGRI")]
    assert [t.adults for t in found.table] == [2, 3]  # passengers and the pilot
    assert [t.nights for t in found.table] == [0, 2]
    assert (found.table.local_flights, round(found.table.local_h, 2)) == (2, 1.95)  # 1.2 h and 0:45
    assert {s.line: s.why.split(" ")[1] for s in found.table.set_aside} == {5: "simulator", 10: "flight", 11: "flight"}
    assert any("not used: Aircraft, Night" in n for n in found.table.notes)


def test_its_study_lines_can_be_pasted(tmp_path):
    found = check(tmp_path / "log.csv", LOGBOOK)
    some = sorted((demo_folder() / "aircraft").glob("*.yaml"))[0]
    text = "\n".join(["study: pasted", *found.study_lines, "candidates:", f"  - {some}"]) + "\n"
    (tmp_path / "study.yaml").write_text(text)
    assert load_study(tmp_path / "study.yaml").listed.trips == found.table.trips


def test_home_is_where_most_rows_start(tmp_path):
    found = check(tmp_path / "log.csv", LOGBOOK, ListHints())
    assert found.table.home == "KGRI"
    assert "5 of 8" in found.home_note


def test_a_route_column_alone(tmp_path):
    found = check(tmp_path / "log.csv", "Date,Route,Duration\n2025-05-06,KGRI-KOMA-KGRI,2.1\n2025-05-07,KGRI KLNK,0.8\n"
                  "2025-05-08,KLNK KGRI,0.8\n")
    assert [t.stops for t in found.table] == [("KGRI", "KOMA", "KGRI"), ("KGRI", "KLNK", "KGRI")]


def test_a_spreadsheet(tmp_path):
    book = Workbook()
    sheet = book.active
    for row in (["Trips we make"], [], ["Departure date", "Start time", "Destination", "End date", "People"],
                [datetime(2025, 3, 4), time(8, 30), "Hays, KS", date(2025, 3, 5), 2],
                [datetime(2025, 4, 1), None, "KLNK", None, 1.0], ["", "", "", "", ""],
                [datetime(2025, 4, 2), None, "Staff meeting", None, 3]):
        sheet.append(row)
    path = tmp_path / "trips.xlsx"
    book.save(path)
    (found,) = check_files([str(path)], HOME)
    first, second = found.table
    assert (first.stops, first.departs_local[0], first.nights, first.adults) == (
        ("KGRI", "KHYS", "KGRI"), datetime(2025, 3, 4, 8, 30), 1, 2)
    assert (second.trip_id, second.adults) == ("line 5", 1)
    assert [(s.line, s.what) for s in found.table.set_aside] == [(7, "Staff meeting")]


def test_a_calendar(tmp_path):
    found = check(tmp_path / "work.ics", CALENDAR)
    trips = {(t.departs_local[0].date().isoformat(), t.stops[1]): t for t in found.table}
    assert set(trips) == {("2025-03-04", "KHYS"), ("2025-06-06", "KOMA"), ("2025-07-01", "KLBF"),
                          ("2025-09-01", "KLNK"), ("2025-11-01", "KLNK")}  # October is left out by the calendar itself
    assert trips["2025-03-04", "KHYS"].departs_local == (datetime(2025, 3, 4, 8, 30), datetime(2025, 3, 4, 16, 0))
    assert trips["2025-06-06", "KOMA"].nights == 2  # the 6th to the 8th: an all-day event ends the day before its end
    assert trips["2025-07-01", "KLBF"].departs_local[0] == datetime(2025, 7, 1, 8, 0)  # 13:00 UTC in Nebraska's summer
    assert [(s.line, s.what) for s in found.table.set_aside] == [(11, "Dentist")]
    assert any("1 cancelled" in n for n in found.table.notes)


def test_two_trips_at_one_time_are_said_at_once(tmp_path):
    rows = "2025-05-06,KOMA,2025-05-08\n2025-05-07,KLNK,\n2025-05-09,KLNK,\n"
    found = check(tmp_path / "trips.csv", f"date,to,return\n{rows}")
    (note,) = [n for n in found.table.notes if "at one time" in n]
    assert "line 2 (May 06 08:00 to May 08" in note
    assert "line 3" in note
    assert "line 4" not in note


@pytest.mark.parametrize("cell", ["6-May-25", "May 6 2025", "May 6, 2025", "6 May 2025", "Tue, May 6 2025", "06MAY25",
                                  "2025-May-06", "5/6/2025", "6.5.2025", "20250506", "Tuesday, May 6th, 2025"])
def test_dates_as_people_write_them(tmp_path, cell):
    found = check(tmp_path / "t.csv", f'date,to\n"{cell}",KOMA\n')
    assert found.table[0].departs_local[0].date() == date(2025, 5, 6)


def test_a_misspelt_airport_stops_and_words_do_not(tmp_path):
    text = "Day,Where\n2025-05-06,{}\n2025-05-07,KOMA\n"
    assert len(check(tmp_path / "a.csv", text.format("Dentist")).table) == 1
    with pytest.raises(InputError, match="Did you mean 'KGRI'"):
        check(tmp_path / "b.csv", text.format("KGRl"))


def test_a_typed_list_stays_strict(tmp_path):
    with pytest.raises(InputError, match="no airport 'Dentist'"):
        check(tmp_path / "a.csv", "date,to\n2025-05-06,Dentist\n")
    with pytest.raises(InputError, match="Did you mean 'adults'"):
        check(tmp_path / "b.csv", "date,to,adlts\n2025-05-06,KOMA,1\n")


def test_only_appointments_is_no_list_of_trips(tmp_path):
    with pytest.raises(InputError, match=r"holds no trips; .*set aside"):
        check(tmp_path / "a.csv", "Day,Where\n2025-05-06,Dentist\n2025-05-07,Zoom\n")


@pytest.mark.parametrize(("headings", "row", "expected"), [
    ("Date,Out,From,To,POB", "2025-01-07,07:45,KGRI,KOMA,2",
     {"date": "Date", "time": "Out", "from": "From", "to": "To", "people": "POB"}),
    ("Flight Date,Dep,Arr,Block", "1/7/2025,KGRI,KOMA,1.2",
     {"date": "Flight Date", "from": "Dep", "to": "Arr", "hours": "Block"}),
    ("Date,Time,Location", "1/7/2025,8:30 AM,HYS", {"date": "Date", "time": "Time", "to": "Location"}),
    ("Date,From,To,Time", "1/7/2025,KGRI,KOMA,1.2", {"date": "Date", "from": "From", "to": "To", "hours": "Time"}),
    ("Start Date,End Date,City,Pax", "1/7/2025,1/8/2025,Omaha,3",
     {"date": "Start Date", "to": "City", "return": "End Date", "passengers": "Pax"}),
    ("Datum/Date,Dep,Arr,Total", "03-Jan-2025,GRI,OMA,1.1",      # two languages in one heading
     {"date": "Datum/Date", "from": "Dep", "to": "Arr", "hours": "Total"}),
    ("Wann,Dep,Arr", "03-Jan-2025,GRI,OMA", {"date": "Wann", "from": "Dep", "to": "Arr"}),   # told by its cells
    ("Date,Block Off,Block On,From,To,Block Time", "2025-03-04,0812,0921,KGRI,KOMA,1.2",
     {"date": "Date", "time": "Block Off", "from": "From", "to": "To", "hours": "Block Time"}),
    ("Datum,Von,Nach,Zeit", "2025-03-04,KGRI,KOMA,1.1",
     {"date": "Datum", "from": "Von", "to": "Nach", "hours": "Zeit"}),
    ("Date,Eins,Zwei", "2025-03-04,KGRI,KOMA", {"date": "Date", "from": "Eins", "to": "Zwei"}),   # two ends of a leg
    ("Date,Stadt,Platz", "2025-03-04,Omaha NE,KOMA", {"date": "Date", "to": "Stadt"}),   # one place told twice
    ("Date,From,To,Total Duration", "3/4/2025,KGRI,KOMA,.8",
     {"date": "Date", "from": "From", "to": "To", "hours": "Total Duration"}),
    ("When?,Date,Airport of the day", "x,1/7/2025,KOMA", {"date": "Date", "to": "Airport of the day"}),
])
def test_columns_are_found_by_heading_and_content(headings, row, expected):
    found = suggested_columns(headings.split(","), [row.split(",")], AIRPORTS.find, AIRPORTS.in_town)
    assert dict(found.columns) == expected


@pytest.mark.parametrize(("name", "data"), [("a.xlsx", b"PK\x03\x04 not a sheet"), ("a.xlsx", b"hello"),
                                            ("a.ics", b"hello"),
                                            ("a.ics", b"BEGIN:VCALENDAR\nEND:VCALENDAR\n"),
                                            ("a.ics", b"BEGIN:VEVENT\nDTSTART:nonsense\nEND:VEVENT\n")])
def test_broken_files_are_faults(tmp_path, name, data):
    (tmp_path / name).write_bytes(data)
    with pytest.raises(InputError):
        check_files([str(tmp_path / name)], HOME)


EVENTS = "BEGIN:VCALENDAR\nVERSION:2.0\nPRODID:-//none//none//EN\n{}END:VCALENDAR\n"
EVENT = ("BEGIN:VEVENT\nUID:{uid}\nDTSTART;TZID=America/Chicago:{start}\nDTEND;TZID=America/Chicago:{end}\n"
         "SUMMARY:Visit\nLOCATION:{place}\n{more}END:VEVENT\n")


def event(uid, day, more="", place="KOMA", hours=("080000", "170000")):
    return EVENT.format(uid=uid, start=f"{day}T{hours[0]}", end=f"{day}T{hours[1]}", place=place, more=more)


def out_on(found):
    return [(f"{t.departs_local[0]:%m-%d %H:%M}", t.stops[1]) for t in found.table]


def test_a_repeat_that_was_moved_is_no_longer_where_it_was(tmp_path):
    again = "RECURRENCE-ID;TZID=America/Chicago:20250311T080000\n"
    text = EVENTS.format(event(1, "20250304", "RRULE:FREQ=WEEKLY;COUNT=3\n")
                         + event(1, "20250312", again, "KLNK", ("090000", "170000")))
    found = check(tmp_path / "a.ics", text)
    assert out_on(found) == [("03-04 08:00", "KOMA"), ("03-12 09:00", "KLNK"), ("03-18 08:00", "KOMA")]


def test_a_repeat_that_was_called_off_is_left_out(tmp_path):
    off = "RECURRENCE-ID:20250311T130000Z\nSTATUS:CANCELLED\n"      # 8:00 in Nebraska's summer, told in UTC
    text = EVENTS.format(event(1, "20250304", "RRULE:FREQ=WEEKLY;COUNT=3\n") + event(1, "20250311", off))
    assert [day for day, _ in out_on(check(tmp_path / "a.ics", text))] == ["03-04 08:00", "03-18 08:00"]


def test_days_a_calendar_adds_to_an_event(tmp_path):
    more = "RDATE;TZID=America/Chicago:20250318T080000,20250325T080000\n"
    found = check(tmp_path / "a.ics", EVENTS.format(event(1, "20250304", more)))
    assert [day for day, _ in out_on(found)] == ["03-04 08:00", "03-18 08:00", "03-25 08:00"]


@pytest.mark.parametrize("until", ["20250318", "20250318T130000Z", "20250318T235959Z"])
def test_a_rule_runs_through_its_last_day(tmp_path, until):
    found = check(tmp_path / "a.ics", EVENTS.format(event(1, "20250304", f"RRULE:FREQ=WEEKLY;UNTIL={until}\n")))
    assert [day for day, _ in out_on(found)] == ["03-04 08:00", "03-11 08:00", "03-18 08:00"]


def test_what_repeats_for_years_is_read_in_those_of_the_calendar(tmp_path):
    text = EVENTS.format(event(1, "20210105", "RRULE:FREQ=MONTHLY;BYDAY=1TU\n") + event(2, "20250612", place="KLNK"))
    found = check(tmp_path / "a.ics", text)
    assert found.table.year == 2025
    # first Tuesdays of 2025, from a calendar on the wall
    assert [day[:5] for day, place in out_on(found) if place == "KOMA"] == [
        "01-07", "02-04", "03-04", "04-01", "05-06", "06-03", "07-01", "08-05", "09-02", "10-07", "11-04", "12-02"]


def test_a_zone_that_is_not_known_is_said(tmp_path):
    text = EVENTS.format(event(1, "20250704")).replace("America/Chicago", "Nowhere/Land")
    found = check(tmp_path / "a.ics", text)
    assert out_on(found) == [("07-04 08:00", "KOMA")]
    assert any("Nowhere/Land" in n for n in found.table.notes)


def test_hours_as_people_write_them(tmp_path):
    # 1.5 + 1.1 + 1.1 + 1.1 h of local flights
    found = check(tmp_path / "a.csv", "Date,From,To,Block\n2025-03-04,KGRI,KOMA,1h06m\n2025-03-04,KOMA,KGRI,66 min\n"
                  "2025-03-07,KGRI,KGRI,1:30\n2025-03-08,KGRI,KGRI,1h06m\n2025-03-09,KGRI,KGRI,66 min\n"
                  "2025-03-10,KGRI,KGRI,1 h 6 min\n")
    assert (found.table.local_flights, round(found.table.local_h, 2)) == (4, 4.8)


def test_a_route_with_words_that_are_no_places(tmp_path):
    found = check(tmp_path / "a.csv", "Date,Route,Total\n2025-03-04,KGRI DCT KOMA V6 KGRI,2.2\n"
                  "2025-03-06,GRI local,0.9\n2025-03-08,KGRI \u2192 KLNK \u2192 KGRI,1.6\n")
    assert [t.stops for t in found.table] == [("KGRI", "KOMA", "KGRI"), ("KGRI", "KLNK", "KGRI")]
    assert (found.table.local_flights, round(found.table.local_h, 2)) == (1, 0.9)


def test_two_ends_of_a_leg_under_headings_nobody_knows(tmp_path):
    found = check(tmp_path / "a.csv", "Datum;Eins;Zwei;Zeit\n04.03.2025;KGRI;KOMA;1,1\n05.03.2025;KOMA;KGRI;1,2\n")
    assert [(t.stops, t.nights) for t in found.table] == [(("KGRI", "KOMA", "KGRI"), 1)]


def test_the_time_off_blocks_is_when_a_leg_left(tmp_path):
    found = check(tmp_path / "a.csv", "Date,Dep,Block Off,Block On,Arr\n2025-03-04,KGRI,0812,0921,KOMA\n"
                  "2025-03-04,KOMA,1505,1620,KGRI\n")
    assert [f"{at:%H:%M}" for at in found.table[0].departs_local] == ["08:12", "15:05"]
