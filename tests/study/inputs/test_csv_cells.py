from __future__ import annotations

from datetime import date, datetime, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.study.inputs.csv_cells import parse_clock, parse_moment, parse_number, parse_yes, slash_order

# Day numbers of spreadsheets with the 1900 calendar. Source: ECMA-376 (Office Open XML), part 1, section 18.17.4.1:
# day 1 is 1 January 1900, and the 29 February 1900 that never was is day 60; so 1 March 1900 is 61.
# From there days count on: 1 January 2000 is 36526.
SERIALS = [("36526", date(2000, 1, 1), None), ("45717", date(2025, 3, 1), None), ("45351", date(2024, 2, 29), None),
           ("45717.5", date(2025, 3, 1), time(12)), ("45717,3541667", date(2025, 3, 1), time(8, 30)),
           ("45717.99999", date(2025, 3, 2), time(0))]


@pytest.mark.parametrize(("text", "day", "at"), SERIALS)
def test_spreadsheet_day_numbers(text, day, at):
    moment = parse_moment(text, "month/day/year")
    assert (moment.day, moment.at) == (day, at)


@pytest.mark.parametrize(("text", "order", "expected"), [
    ("2025-03-04", "month/day/year", datetime(2025, 3, 4)),
    ("2025/3/4", "day/month/year", datetime(2025, 3, 4)),
    ("20250304", "month/day/year", datetime(2025, 3, 4)),
    ("2025-03-04T08:30", "month/day/year", datetime(2025, 3, 4, 8, 30)),
    ("2025-03-04 08:30:15", "month/day/year", datetime(2025, 3, 4, 8, 30)),
    ("3/4/2025", "month/day/year", datetime(2025, 3, 4)),
    ("3/4/2025", "day/month/year", datetime(2025, 4, 3)),
    ("3/4/25 4:05 PM", "month/day/year", datetime(2025, 3, 4, 16, 5)),
    ("3-4-2025", "month/day/year", datetime(2025, 3, 4)),
    ("4.3.2025", "month/day/year", datetime(2025, 3, 4)),
    ("29.02.2024", "month/day/year", datetime(2024, 2, 29)),
])
def test_dates_people_write(text, order, expected):
    moment = parse_moment(text, order)
    assert datetime.combine(moment.day, moment.at or time(0)) == expected


@pytest.mark.parametrize(("text", "words"), [
    ("2025-02-29", "2025 has no 29 February"), ("2/29/1900", "1900 has no 29 February"),
    ("2025-13-01", "exists in the calendar"), ("2025-04-31", "exists in the calendar"),
    ("13/14/2025", "month from 1 to 12"), ("25/12/2025", "set `date_format`"), ("0025-01-01", "year from 1900"),
    ("12345", "day number"), ("next Tuesday", "a date such as"), ("", "a date such as"), ("1/2/345", "a date such as"),
    ("2025-03-04 25:00", "time of day"), ("2025-03-04 08:30+99:00", "at most 14 hours"),
])
def test_dates_that_do_not_exist_say_why(text, words):
    with pytest.raises(ValueError, match=words):
        parse_moment(text, "month/day/year")


def test_an_offset_becomes_local_time():
    zulu = parse_moment("2025-07-04T13:30Z", "month/day/year").on_clock_of("America/Chicago")
    assert (zulu.day, zulu.at) == (date(2025, 7, 4), time(8, 30))
    over_midnight = parse_moment("2025-07-04 02:00+00:00", "month/day/year").on_clock_of("America/Denver")
    assert (over_midnight.day, over_midnight.at) == (date(2025, 7, 3), time(20))


@pytest.mark.parametrize(("text", "at"), [
    ("8:30", time(8, 30)), ("08:30:59", time(8, 30)), ("0830", time(8, 30)), ("8:30 AM", time(8, 30)),
    ("12:00 AM", time(0)), ("12:00 p.m.", time(12)), ("4 pm", time(16)), ("16:30", time(16, 30)),
    ("0.5", time(12)), ("0,354166667", time(8, 30)), ("24:00", time(0)), ("8:30a", time(8, 30)),
])
def test_times_people_write(text, at):
    assert parse_clock(text) == at


@pytest.mark.parametrize("text", ["25:00", "8:60", "13:00 PM", "noon", "", "8", "0:00 PM", "1.5"])
def test_times_that_do_not_exist_are_refused(text):
    with pytest.raises(ValueError, match="time of day"):
        parse_clock(text)


def test_the_order_of_slashed_dates_comes_from_the_whole_column():
    assert slash_order(["25/3/2025", "4/3/2025"]) == ("day/month/year", True)
    assert slash_order(["3/25/2025", "4/3/2025"]) == ("month/day/year", True)
    assert slash_order(["3/4/2025", "4/3/2025"]) == ("month/day/year", False)
    assert slash_order(["2025-03-04", "4.3.2025"]) == ("month/day/year", True)
    assert slash_order(["25/3/2025", "3/25/2025"]) == ("month/day/year", True)  # then one of them is a fault


@pytest.mark.parametrize(("text", "comma", "semicolons", "value"), [
    ("35", None, False, 35), ("35.5", None, False, 35.5), ("1,200", None, False, 1200),
    ("1,234.5", None, False, 1234.5), ("1,200", False, True, 1200),
    ("35,5", None, True, 35.5), ("35.5", None, True, 35.5), ("1.234,5", True, True, 1234.5),
    ("1,200", True, True, 1.2), ("60 lb", None, False, 60), ("$1,200", None, False, 1200), ("2 h", None, False, 2),
    ("-5", None, False, -5), (".5", None, False, 0.5), ("12\u00a0000", False, True, 12000),
])
def test_numbers_of_both_sides_of_the_atlantic(text, comma, semicolons, value):
    assert parse_number(text, comma, semicolons) == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("text", ["1,200", "1.200"])
def test_a_number_that_can_be_read_two_ways_is_never_guessed(text):
    with pytest.raises(ValueError, match="two ways"):
        parse_number(text, None, True)


@pytest.mark.parametrize("text", ["nan", "inf", "1e5", "12 kg", "twelve", "", "--5", "1,2,3", "5,5", "9" * 30, "=A1+3"])
def test_what_is_no_number_is_refused(text):
    with pytest.raises(ValueError, match="a number"):
        parse_number(text, None, False)


def test_yes_and_no():
    assert all(parse_yes(t) for t in ("yes", "Y", "TRUE", "x", "1", " X "))
    assert not any(parse_yes(t) for t in ("no", "N", "false", "0", "", "-"))
    with pytest.raises(ValueError, match="yes or no"):
        parse_yes("maybe")


@given(st.text(max_size=25))
def test_any_cell_is_read_or_refused_in_words(text):
    for parse in (lambda t: parse_moment(t, "month/day/year"), lambda t: parse_moment(t, "day/month/year"), parse_clock,
                  lambda t: parse_number(t, None, True), lambda t: parse_number(t, True, False), parse_yes):
        try:
            parse(text)
        except ValueError as error:
            assert str(error)  # noqa: PT017  (both ways out are right; the words are what is held)


@given(st.datetimes(datetime(1950, 1, 1), datetime(2099, 12, 31)))
def test_every_moment_reads_back_from_every_way_to_write_it(when):
    when = when.replace(second=0, microsecond=0)
    days = (when - datetime(1899, 12, 30)).total_seconds() / 86400
    texts = [f"{when:%Y-%m-%d %H:%M}", f"{when:%m/%d/%Y %I:%M %p}", f"{when:%d.%m.%Y %H:%M}"]
    texts += [f"{days:.8f}"] if 20_000 <= days < 80_000 else []
    for text in texts:
        moment = parse_moment(text, "month/day/year")
        assert datetime.combine(moment.day, moment.at or time(0)) == when
