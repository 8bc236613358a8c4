"""Typical-year files of the user's own: what is read, and what is said of bad ones."""

from __future__ import annotations

import io

import pytest

from missionsim.world.surface.station_climate import LONE, MONTH_DAYS, PAIR_SHARE
from missionsim.world.surface.station_file import read_station

HOURS = [(m + 1, d + 1, h + 1) for m in range(12) for d in range(MONTH_DAYS[m]) for h in range(24)]


def epw(change=lambda k, fields: fields, location="LOCATION,Someplace,-,FRA,made up,0,48.5,2.25,1.0,120.0"):
    header = [location, *(f"{word},0" for word in (
        "DESIGN CONDITIONS", "TYPICAL/EXTREME PERIODS", "GROUND TEMPERATURES", "HOLIDAYS/DAYLIGHT SAVINGS",
        "COMMENTS 1", "COMMENTS 2", "DATA PERIODS"))]
    lines = []
    for k, (month, day, hour) in enumerate(HOURS):
        fields = ["2001", str(month), str(day), str(hour), "60", "?"] + ["0"] * 29
        foggy = hour <= 6 and month in (1, 12)
        fields[6], fields[7], fields[9] = "8.0", "7.5" if foggy else "2.0", "100000"
        fields[20], fields[21] = "270", "5.0"
        fields[24], fields[25] = ("0.8", "60") if foggy else ("40", "77777")
        fields[26], fields[27] = "0", "089999999" if (month, hour) == (7, 16) else "999999999"
        lines.append(",".join(change(k, fields)))
    return "\n".join(header + lines)


def tmy3(change=lambda k, fields: fields):
    titles = ["Date (MM/DD/YYYY)", "Time (HH:MM)", "Dry-bulb (C)", "Dew-point (C)", "Pressure (mbar)",
              "Wdir (degrees)", "Wspd (m/s)", "Hvis (m)", "CeilHgt (m)", "PresWth (METAR code)"]
    lines = ['999999,"SOMEWHERE",NE,-6.0,41.0,-98.0,560', ",".join(titles)]
    for k, (month, day, hour) in enumerate(HOURS):
        fields = [f"{month:02d}/{day:02d}/1995", f"{hour:02d}:00", "10.0", "5.0", "950", "180", "6.0", "16000",
                  "77777" if hour > 12 else "244", "95" if (month, hour) == (6, 18) else "0"]
        lines.append(",".join(change(k, fields)))
    return "\n".join(lines)


def test_epw_is_read():
    station, faults = read_station(io.StringIO(epw()), "here.epw")
    assert faults == []
    assert (station.name, station.latitude_deg, station.longitude_deg, station.utc_offset_h) == (
        "Someplace", 48.5, 2.25, 1.0)
    assert station.elevation_ft == pytest.approx(393.7, abs=0.05)
    climate = station.climate
    low = ((climate.ceiling_100ft < 5) | (climate.visibility_0p1sm < 10)) @ PAIR_SHARE
    # Six hours of 24 in December and January; January also leans on February, two months off on March, and so on.
    assert low[0].mean() == pytest.approx(0.25 * (LONE[0] + LONE[11]), abs=0.01)
    assert low[6].mean() == pytest.approx(0.25 * (LONE[5] + LONE[6]), abs=0.01)
    assert climate.thunder_share[6].sum() == pytest.approx(1 / 3, abs=0.01)
    assert climate.pressure_hpa == pytest.approx([1000.0] * 12)
    assert climate.wind_u_kt.mean() == pytest.approx(5.0 * 1.94384, abs=0.01)   # from the west blows east
    assert climate.temperature_c.mean() == pytest.approx(8.0)


def test_tmy3_is_read_with_sign_and_units():
    station, faults = read_station(io.StringIO(tmy3()), "own.csv")
    assert faults == []
    assert (station.name, station.utc_offset_h, station.latitude_deg, station.longitude_deg) == (
        "SOMEWHERE", -6.0, 41.0, -98.0)
    assert set(station.climate.ceiling_100ft.ravel().tolist()) <= {8, 255}    # 244 m is 800 ft
    assert set(station.climate.visibility_0p1sm.ravel().tolist()) == {99}     # 16,000 m is 9.94 miles
    assert station.climate.thunder_share[5].sum() == pytest.approx(1 / 3, abs=0.01)


def test_leap_day_is_left_out():
    text = tmy3()
    lines = text.split("\n")
    extra = [line.replace("02/28", "02/29") for line in lines if line.startswith("02/28")]
    station, faults = read_station(io.StringIO("\n".join(lines + extra)), "own.csv")
    assert faults == []
    assert station is not None


def faults_of(text):
    station, faults = read_station(io.StringIO(text), "own.epw")
    assert station is None
    return [str(f) for f in faults]


def test_empty_file():
    assert faults_of("") == ["own.epw: is empty; accepted: a TMY3 or EPW file."]


def test_unknown_kind_of_file():
    assert "accepted: an EPW file" in faults_of("hello\nworld")[0]


def test_value_out_of_range_names_line_and_limits():
    def hot(k, fields):
        fields[6] = "412" if k == 10 else fields[6]
        return fields

    assert faults_of(epw(hot)) == ["own.epw:19: dry bulb: is '412'; accepted: -80 to 65 C."]


def test_words_where_numbers_belong():
    def word(k, fields):
        fields[21] = "calm" if k in (0, 1) else fields[21]
        return fields

    found = faults_of(epw(word))
    assert len(found) == 2
    assert "own.epw:9: wind speed: is 'calm'" in found[0]


def test_many_faults_of_a_kind_are_counted_not_listed():
    def word(k, fields):
        fields[21] = "calm"
        return fields

    found = faults_of(epw(word))
    assert len(found) == 6
    assert "8,755 more rows" in found[-1]


def test_missing_hours():
    assert "has 8,660 hourly rows" in faults_of("\n".join(epw().split("\n")[:-100]))[0]


def test_ceilings_missing_throughout_cannot_pass_for_fair_weather():
    def none(k, fields):
        fields[25] = "99999"
        return fields

    assert faults_of(epw(none)) == ["own.epw: ceiling: is missing in 8,760 of 8,760 hours; accepted: "
                                    "at most 5% missing (filled with the hour before)."]


def test_a_few_missing_hours_are_filled():
    def some(k, fields):
        fields[25] = "99999" if k % 50 == 0 else fields[25]
        return fields

    station, faults = read_station(io.StringIO(epw(some)), "own.epw")
    assert faults == []
    assert station is not None


def test_bad_position_and_missing_column():
    assert "latitude: is '148.5'; accepted: -90 to 90" in faults_of(
        epw(location="LOCATION,X,-,FRA,made up,0,148.5,2.25,1.0,120.0"))[0]
    assert "CeilHgt (m): column is missing" in faults_of(tmy3().replace("CeilHgt (m)", "Ceil"))[0]


def test_all_faults_at_once():
    def both(k, fields):
        fields[6] = "hot" if k == 5 else fields[6]
        fields[24] = "-3" if k == 7 else fields[24]
        return fields

    found = faults_of(epw(both, location="LOCATION,X,-,FRA,made up,0,,2.25,1.0,120.0"))
    assert [word for word in ("latitude", "dry bulb", "visibility") if any(word in f for f in found)] == [
        "latitude", "dry bulb", "visibility"]
