"""Which field of a town is taken, on towns laid out by hand, and what is said of it."""

from __future__ import annotations

import pytest

from missionsim.study.inputs.places import places_in
from missionsim.world.airports.records import Airport, RunwayEnd
from missionsim.world.airports.table import AirportTable
from missionsim.world.airports.towns import TownFields, around, field_words, in_order

RUNWAY_FT, WITHIN_NM = 4_000.0, 20.0


def field(ident, north_nm=0.0, size=0, public=True, length_ft=5_000.0, surface="paved", lighted=True):
    """Return an airport so many nautical miles, minutes of latitude, north of the town's middle."""
    ends = tuple(RunwayEnd(n, 90.0, length_ft, length_ft, 75.0, surface, lighted) for n in ("9", "27"))
    return Airport(ident, (ident,), f"{ident} Field", 40.0 + north_nm / 60.0, -98.0, 1_800.0, "US-NE", "UTC", 4.0,
                   ends if length_ft else (), size, public)


HUB = field("HUB", 15.0, size=2, length_ft=12_000.0)


def first(*airports, of_town=None):
    return in_order(airports, of_town or [True] * len(airports), RUNWAY_FT, WITHIN_NM)[0].ident


@pytest.mark.parametrize(("others", "taken"), [
    ([field("NEAR", -1.0), field("MID", 0.0, length_ft=3_000.0), field("FAR", 13.0)], "NEAR"),
    ([field("SHORT", length_ft=3_900.0)], "HUB"),
    ([field("DARK", lighted=False)], "HUB"),
    ([field("GRASS", surface="grass")], "HUB"),
    ([field("OURS", public=False)], "HUB"),
    ([field("A", -1.0), field("B", 1.0, size=1), field("C", 0.0, length_ft=2_000.0)], "B"),     # as near: the larger
    ([field("A", -1.0), field("B", 1.0, length_ft=5_500.0), field("C", 0.0, length_ft=2_000.0)], "B"),
    ([field("LONE", 1.0), field("MEADOW", -40.0, public=False), field("YARD", -41.0, public=False)], "HUB"),
])
def test_a_hub_gives_way_to_a_field_that_suits_near_the_middle_of_the_others(others, taken):
    assert first(HUB, *others) == taken


def test_without_a_hub_the_main_one_stays():
    assert first(field("MAIN", 15.0, size=1), field("NEAR")) == "MAIN"


def test_a_town_with_a_field_of_its_own_does_not_use_one_that_bears_its_name_elsewhere():
    assert first(field("NAMED", 10.0, size=1), field("OWN"), of_town=[False, True]) == "OWN"
    assert first(field("NAMED", 10.0, size=1), field("OWN", length_ft=2_000.0), of_town=[False, True]) == "NAMED"


def test_private_fields_are_taken_only_where_nothing_around_is_public():
    meadow, yard = field("MEADOW", public=False, length_ft=2_200.0, surface="grass"), field("YARD", public=False)
    strip, long = field("STRIP", 3.0, length_ft=3_000.0), field("LONG", 9.0)
    near = around([meadow, yard], [meadow, strip, HUB, long], RUNWAY_FT)
    assert [a.ident for a in near] == ["LONG", "STRIP"]         # what suits first, no hub, none of the town's own
    assert TownFields((meadow, yard), near).taken.ident == "LONG"
    assert TownFields((meadow, yard)).taken.ident == "MEADOW"
    assert TownFields((HUB,), near).taken.ident == "HUB"        # a hub is a place to land, a meadow is not


@pytest.mark.parametrize(("airport", "words"), [
    (field("A"), "public, 5,000 ft paved"), (HUB, "airline hub, 12,000 ft paved"),
    (field("M", public=False, length_ft=2_200.0, surface="grass"), "PRIVATE, by leave alone, 2,200 ft grass"),
    (field("N", public=False, length_ft=0.0), "PRIVATE, by leave alone, no runway known")])
def test_the_kind_of_field_is_said(airport, words):
    assert field_words(airport) == words


@pytest.fixture(scope="module")
def table(assumptions):
    return AirportTable.packaged(assumptions)


@pytest.mark.parametrize(("text", "taken", "said"), [
    ("Nashville, TN", "KJWN", "KBNA (hub)"),
    ("New Orleans, LA", "KNEW", "KMSY (hub)"),
    ("Destin, FL", "KDTS", "also KVPS"),
    ("Charlotte, NC", "KCLT", "airline hub"),
    ("Daphne, AL", "KBFM", "none open to the public")])
def test_real_towns(table, text, taken, said):
    """By the list of airports: two fields with one hub; a town's own beside one of its name; a hub alone; none."""
    found = places_in(text, table.find, table.in_town)
    assert [a.ident for a in found.airports] == [taken]
    assert said in found.notes[0]
    assert field_words(table.find(taken)) in found.notes[0]


def test_a_private_field_is_said_where_nothing_else_is_near(table, assumptions):
    alone = AirportTable.packaged(assumptions.replaced({"airport.town_field_nm": 0.0}))
    found = places_in("Fairhope, AL", alone.find, alone.in_town)
    assert found.airports[0].public is False
    assert "PRIVATE" in found.notes[0]
    assert "ask for leave to land" in found.notes[0]
    assert places_in("Fairhope, AL", table.find, table.in_town).airports[0].public


def test_a_private_field_named_by_its_identifier_is_taken(table):
    found = places_in("AL78", table.find, table.in_town)
    assert [a.ident for a in found.airports] == ["AL78"]
