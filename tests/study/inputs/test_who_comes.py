"""Who comes along and how heavy bags are, under other people's headings and in their words; and what is said if not."""

from __future__ import annotations

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import InputError
from missionsim.study.inputs.check import ListHints, check_files
from missionsim.study.inputs.columns import suggested_columns
from missionsim.study.inputs.party import PartyRead, party_in
from missionsim.study.inputs.write_trips import trips_csv
from missionsim.world.airports.table import AirportTable

AIRPORTS = AirportTable.packaged(packaged_assumptions())


def checked(folder, text, name="list.csv"):
    (folder / name).write_text(text, encoding="utf-8")
    (found,) = check_files([str(folder / name)], ListHints("KGRI"))
    return found.table


@pytest.mark.parametrize(("cell", "adults", "children"), [
    ("4 people", 4, 0), ("three", 3, 0), ("2 adults, 2 kids", 2, 2), ("2 adults + 1 child", 2, 1), ("just me", 1, 0),
    ("alone", 1, 0), ("nobody", 1, 0), ("2 adults", 2, 0),
    ("Tom, Ann", 3, 0), ("Ann", 2, 0), ("me and Ann", 2, 0), ("Ann & Bob", 3, 0), ("my wife, Aunt Mary", 3, 0),
    ("Ann and kids", 2, 2), ("Ann + 3 kids", 2, 3), ("my son", 1, 1), ("family of 4", 2, 2), ("family", 2, 2),
    ("3 friends", 4, 0), ("friends", 3, 0), ("Ann, the dog", 2, 0), ("+1", 2, 0), ("José and Zoë O'Neil", 3, 0)])
def test_a_party_in_words(cell, adults, children):
    """By hand: those named come beside the pilot, a count holds him; several of no number are two."""
    found = party_in(cell)
    assert (found.adults, found.children) == (adults, children)


def test_what_is_counted_from_words_is_a_guess_and_a_number_is_none():
    assert party_in("Ann and kids").guessed
    assert not party_in("4 people").guessed
    assert not party_in("2 adults, 2 kids").guessed
    assert PartyRead(1, 1).words == "1 adult and 1 child"
    assert PartyRead(2, 3).words == "2 adults and 3 children"


@pytest.mark.parametrize("cell", ["tbd", "?", "unknown", " "])
def test_what_nobody_knows_yet_says_nothing(cell):
    assert party_in(cell) is None


@pytest.mark.parametrize("cell", ["12345 kids of mine %", "Ann, 3%$", "a" * 300 + " %"])
def test_what_is_no_party_is_refused(cell):
    with pytest.raises(ValueError, match="a number of people"):
        party_in(cell)


@pytest.mark.parametrize(("heading", "cell", "ours"), [
    ("Who is coming", "2", "people"), ("Who's coming?", "Tom, Ann", "people"), ("No. of people", "3", "people"),
    ("How many people", "3", "people"), ("Souls on board", "4", "people"), ("Our party", "Ann and kids", "people"),
    ("People", "2", "people"), ("Pax", "2", "passengers"), ("# pax", "2", "passengers"),
    ("Names of passengers", "Tom", "passengers"), ("Number of kids", "2", "children"),
    ("Bags (kg)", "30", "bags_lb"), ("baggage kg", "30", "bags_lb"), ("Luggage [lbs]", "30 lb", "bags_lb"),
    ("Weight of bags", "12 kg", "bags_lb"), ("Total baggage", "", "bags_lb"),
    ("Who paid", "Tom", None), ("Bag claim", "yes", None), ("People mover", "no", None), ("Weight", "12", None),
    ("Passengers", "see the remarks %", None)])
def test_headings_of_other_people(heading, cell, ours):
    found = suggested_columns(["When", "To", heading], [["2025-03-04", "KOMA", cell]], AIRPORTS.find, AIRPORTS.in_town)
    assert {o for o, name in found.columns.items() if name == heading} == ({ours} if ours else set())


TRIPS = """When,Where,Who is coming,Back,Bags (kg),Colour
2025-03-04,KOMA,Ann and kids,2025-03-05,10,red
2025-04-04,KOMA,3,2025-04-05,22.5 lb,blue
"""


def test_a_table_in_kilograms_and_names(tmp_path):
    """10 kg are 22.0462 lb; a heading in kilograms holds for its cells, a cell's own unit adds nothing to pounds."""
    table = checked(tmp_path, TRIPS.replace("22.5 lb", "10 kg"))
    assert [(t.adults, t.children, t.party_said) for t in table] == [(2, 2, True), (3, 0, True)]
    assert [t.bags_lb for t in table] == pytest.approx([22.0462, 22.0462])
    notes = "\n".join(table.notes)
    assert "columns not used: Colour" in notes
    assert "'Ann and kids' as 2 adults and 2 children" in notes
    assert "bags are read in kilograms" in notes
    assert "nothing tells who comes" not in notes


def test_pounds_stay_pounds_and_a_cell_may_say_kilograms_itself(tmp_path):
    table = checked(tmp_path, "date,to,people,bags_lb\n2025-03-04,KOMA,2,40\n2025-04-04,KOMA,2,20 kg\n"
                              "2025-05-04,KOMA,2,20 lbs\n2025-06-04,KOMA,1,\n")
    usual = checked(tmp_path, "date,to,people\n2025-06-04,KOMA,1\n", "usual.csv")[0].bags_lb
    assert [t.bags_lb for t in table] == pytest.approx([40.0, 44.0924, 20.0, usual])


def test_more_bags_than_any_aircraft_takes_are_refused_in_their_own_unit(tmp_path):
    with pytest.raises(InputError, match="0 to 2,268 kg"):
        checked(tmp_path, "date,to,bags (kg)\n2025-03-04,KOMA,2300\n")


def test_passengers_named_come_beside_the_pilot_and_numbers_too(tmp_path):
    table = checked(tmp_path, "date,to,passengers\n2025-03-04,KOMA,Tom\n2025-04-04,KOMA,1\n2025-05-04,KOMA,0\n")
    assert [t.people for t in table] == [2, 2, 1]


@pytest.mark.parametrize(("rows", "said"), [
    ("2025-03-04,KOMA,x\n2025-04-04,KLNK,x\n", "nothing tells who comes on all 2 trips"),
    ("2025-03-04,KOMA,x\n", "nothing tells who comes on the only trip")])
def test_where_no_word_tells_who_comes_it_is_the_first_thing_said(tmp_path, rows, said):
    table = checked(tmp_path, f"date,to,Mood\n{rows}")
    assert said in table.notes[0]
    assert "one person alone, the pilot" in table.notes[0]
    assert "columns not used: Mood" in table.notes[0]
    assert "Add a column `people`" in table.notes[0]
    assert not any(t.party_said for t in table)


def test_empty_cells_are_counted(tmp_path):
    table = checked(tmp_path, "date,to,people\n2025-03-04,KOMA,2\n2025-04-04,KLNK,\n2025-05-04,KLNK,tbd\n")
    assert "nothing tells who comes on 2 of 3 trips" in table.notes[0]
    assert [t.people for t in table] == [2, 1, 1]


CALENDAR = """BEGIN:VCALENDAR
VERSION:2.0
BEGIN:VEVENT
UID:1
DTSTART:20250110T140000Z
DTEND:20250112T170000Z
SUMMARY:Ski with Ann and kids
LOCATION:Omaha\\, NE
END:VEVENT
END:VCALENDAR
"""


def test_a_calendar_says_that_it_does_not_tell_and_so_does_what_is_written_from_it(tmp_path):
    table = checked(tmp_path, CALENDAR, "mine.ics")
    assert "nothing tells who comes on the only trip" in table.notes[0]
    again = checked(tmp_path, trips_csv(table), "again.csv")
    assert "nothing tells who comes on the only trip" in again.notes[0]
    assert again.trips == table.trips
