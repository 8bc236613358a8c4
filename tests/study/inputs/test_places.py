"""What cells call airports: identifiers, brackets, towns, addresses; and what is no airport."""

from __future__ import annotations

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.study.inputs.places import looks_like_identifier, places_in
from missionsim.world.airports.table import AirportTable

AIRPORTS = AirportTable.packaged(packaged_assumptions())


def idents(text, free_text=False):
    return [a.ident for a in places_in(text, AIRPORTS.find, AIRPORTS.in_town, free_text).airports]


@pytest.mark.parametrize(("text", "expected"), [
    ("KOMA", ["KOMA"]), ("oma", ["KOMA"]), ("(MHK)", ["KMHK"]), ("Manhattan Regional (MHK)", ["KMHK"]),
    ("Omaha, NE", ["KOMA"]), ("Omaha NE", ["KOMA"]), ("Omaha", ["KOMA"]), ("Omaha, Nebraska", ["KOMA"]),
    ("OMAHA, ne 68110", ["KOMA"]), ("Kansas City", ["KMKC"]), ("Sioux Falls, SD, USA", ["KFSD"]),
    ("1234 Main St, Hays, KS 67601", ["KHYS"]), ("St. Louis, MO", ["KSUS"]),
    ("KLBF KOGA", ["KLBF", "KOGA"]), ("KLBF, KOGA", ["KLBF", "KOGA"]), ("KLBF-KOGA", ["KLBF", "KOGA"]),
    ("Hays, KS -> KGLD", ["KHYS", "KGLD"]), ("Omaha, Lincoln", ["KOMA", "KLNK"]), ("KGRI to Omaha", ["KGRI", "KOMA"]),
    ("Dentist", []), ("Zoom", []), ("Conference room 4", []),
])
def test_places(text, expected):
    assert idents(text) == expected


def test_the_main_public_airport_of_a_town_comes_first_and_the_others_are_said():
    found = places_in("Omaha, NE", AIRPORTS.find, AIRPORTS.in_town)
    (note,) = found.notes
    assert "KOMA" in note
    assert "KMLE" in note       # the smaller public one
    assert "KOFF" not in note   # the military one is no choice
    assert AIRPORTS.in_town("Omaha", "NE").taken.ident == "KOMA"
    assert AIRPORTS.in_town("Omaha", "KS") is None


@pytest.mark.parametrize(("town", "state", "first"), [
    ("Burlington", "VT", "KBTV"),       # lies in South Burlington
    ("Raleigh", "NC", "KRDU"), ("Durham", "NC", "KRDU"),       # of two towns
    ("Jackson Hole", "WY", "KJAC"), ("Lake", "FL", None), ("Burlington", "NE", None),
    ("Omaha", "NE", "KOMA"), ("St. Louis", "MO", "KSUS")])   # KSTL is a hub
def test_an_airport_that_bears_the_name_of_a_town_is_the_town_s(town, state, first):
    found = AIRPORTS.in_town(town, state)
    assert (found and found.taken.ident) == first


def test_without_the_state_only_the_town_itself_counts():
    assert "KBTV" not in {a.ident for a in AIRPORTS.in_town("Burlington", "").own}


def test_a_state_decides_between_towns_of_one_name():
    assert idents("Columbus, NE") == ["KOLU"]
    assert idents("Columbus, OH") == ["KTZR"]       # three of Ohio's suit; its KCMH is a hub


def test_three_small_letters_of_a_calendar_are_no_identifier():
    assert idents("gym") != []  # a code somewhere in the world
    assert idents("gym", free_text=True) == []
    assert idents("HYS", free_text=True) == ["KHYS"]


def test_a_misspelt_identifier_is_told_from_words():
    assert looks_like_identifier("KGRl")
    assert looks_like_identifier("4D9")
    assert not looks_like_identifier("Dentist")
    assert not looks_like_identifier("Zoom")
    found = places_in("KGRl", AIRPORTS.find, AIRPORTS.in_town)
    assert (found.airports, found.unknown, found.near) == ((), "KGRl", "KGRI")
