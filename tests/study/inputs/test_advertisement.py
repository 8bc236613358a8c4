"""Advertisements read by patterns: figures a person wrote down first, and what must never happen."""

from __future__ import annotations

import random
from datetime import date

import pytest
import yaml
from advertisement_cases import CASES as FIRST_CASES
from advertisement_cases import FURTHER, NOTHING, REFERENCE, SECOND, TODAY, verdict
from advertisement_layouts import LAYOUTS

from missionsim import read_advertisement
from missionsim.base.errors import InputError
from missionsim.study.inputs.advertisement.read import read_words

CASES = FIRST_CASES + LAYOUTS


def found(text, today=TODAY):
    return read_words(text, today)


TAKEOFF, LANDING = "book.takeoff.", "book.landing."


@pytest.mark.parametrize(("text", "says"), [
    ("Landing over 50 ft: 1,350 ft.", {LANDING + "over_50ft_ft": 1350}),
    ("Takeoff over 50' 1600'", {TAKEOFF + "over_50ft_ft": 1600}),
    ("takeoff over 50 ft 1,600 ft, landing ground roll 780 ft", {TAKEOFF + "over_50ft_ft": 1600,
                                                                LANDING + "ground_roll_ft": 780}),
    ("Landing over a 50 ft obstacle 1,350 ft", {LANDING + "over_50ft_ft": 1350}),
    ("Take-off distance over 50 foot obstacle: 1,720", {TAKEOFF + "over_50ft_ft": 1720}),
    ("takeoff roll 950 ft, takeoff 1,650 ft over 50 ft", {TAKEOFF + "ground_roll_ft": 950,
                                                          TAKEOFF + "over_50ft_ft": 1650}),
    ("T/O run 880 ft", {TAKEOFF + "ground_roll_ft": 880}),
    ("Landing 1,310 ft to clear a 50 ft obstacle", {LANDING + "over_50ft_ft": 1310}),
    ("landing over 50 ft", {}), ("landing light 50 ft away", {}), ("takeoff 2700 rpm", {}), ("landing 2 flaps 30%", {}),
])
def test_what_a_runway_figure_is_over_may_stand_before_or_behind_it(text, says):
    said = found(f"1979 four-seat aircraft. {text}")
    keys = [part + kind for part in (TAKEOFF, LANDING) for kind in ("ground_roll_ft", "over_50ft_ft")]
    assert {key: said.get(key) for key in keys if said.get(key) is not None} == says


@pytest.mark.parametrize("case", CASES, ids=[c.name for c in CASES])
def test_figures_are_those_a_person_reads(case):
    said = found(case.text)
    off = {key: ("nothing" if e is NOTHING else e, said.get(key)) for key, e in case.says.items()
           if verdict(e, said.get(key)) != "hit"}
    assert off == {}


def test_there_are_enough_texts():
    assert len(REFERENCE) == 12
    assert len(FURTHER) + len(SECOND) >= 30


@pytest.mark.parametrize("case", CASES, ids=[c.name for c in CASES])
def test_every_figure_stands_in_the_text(case):
    plain = " ".join(case.text.split())
    for figure in found(case.text).found:
        assert figure.words
        assert figure.words in plain
        assert case.text[figure.start:].split()[0].startswith(figure.words.split()[0][:3])


@pytest.mark.parametrize("case", CASES, ids=[c.name for c in CASES])
def test_proposed_profile_is_yaml_and_quotes_its_words(case):
    proposal = read_advertisement(case.text, TODAY)
    data = yaml.safe_load(proposal.profile_text)
    assert data["name"] == proposal.name
    for figure in proposal.figures:
        inner = data
        for part in figure.key.split("."):
            inner = inner[part]
            inner = inner[0] if part in ("cruise", "tanks") else inner
        assert inner is not None
        assert f'"{figure.words}"' in proposal.profile_text


@pytest.mark.parametrize(("text", "key", "value"), [
    ("TT 4650 SMOH 1180", "engine.hours_since_overhaul_h", 1180),     # tags first
    ("4650 TT 1180 SMOH", "engine.hours_since_overhaul_h", 1180),     # tags last
    ("4650TT 1180SMOH", "state.airframe_hours_h", 4650),              # glued
    ("1180 SMOH", "engine.hours_since_overhaul_h", 1180),
    ("1180 SNEW, 4000 TT", "engine_hours_since", "new"),
    ("1180 SMOH (2000 TBO)", "engine.overhaul_year", None),           # hours, although 2000 is a year too
    ("1180 SMOH (2000 hr TBO)", "engine.tbo_h", 2000),
    ("1180 SMOH (2012)", "engine.overhaul_year", 2012),
    ("210 STOH", "top_overhaul_h", 210),                              # cylinders only: never engine hours
    ("210 STOH", "engine.hours_since_overhaul_h", None),
    ("prop: 310 hrs since overhaul", "propeller.hours_since_overhaul_h", 310),
    ("900/912 SMOH", "engine.hours_since_overhaul_h", (900, 912)),
    ("useful load 950 lbs", "weights.useful_load_lb", 950),
    ("payload with full fuel 515", "weights.useful_load_lb", None),
    ("cruise 140 mph", "cruise_tas_kt", 122),                         # 140 / 1.15078 = 121.7
    ("cruise 140 kts", "cruise_tas_kt", 140),
    ("reduced to $99,900 from $120,000", "prices.asking_price_usd", 99_900),
    ("Nice. 67K.\n4 seats", "prices.asking_price_usd", 67_000),
    ("call for price", "prices.asking_price_usd", None),
    ("$149 obo", "prices.asking_price_usd", 149_000),
    ("annual due 5/26", "state.months_since_annual", 9),              # due in 3 months: 12 - 3
    ("annual done 5/25", "state.months_since_annual", 9),
    ("annual 3/26", "state.months_since_annual", 11),                 # a month to come can only be due
    ("annual 2/26", "state.months_since_annual", "unknown"),          # this month: done or due
    ("no damage history", "state.damage_history", "none"),
    ("no known damage", "state.damage_history", None),
    ("damage 1994, repaired", "state.damage_history", "old_minor"),
    ("damage in 2024", "state.damage_history", "recent_major"),
    ("62 gal (60 usable)", "tanks.usable_gal", 60),
    ("190 litres", "tanks.usable_gal", 50.2),                         # 190 / 3.785
    ("non-WAAS GPS", "panel.approach", "lnav"),
    ("radar altimeter", "panel.weather_on_board", None),              # height above ground, not weather
    ("color radar", "panel.weather_on_board", True),
    ("IFR certified, not known ice, boots", "panel.ice_protection", "escape"),
    ("maintained by A&P", "panel.autopilot", None),
    ("S/N 1234, 900 SMOH", "engine.hours_since_overhaul_h", 900),
    ("1180 SMOH (2000)", "engine.tbo_h", 2000),                       # the interval in brackets, not a year
    ("1180 SMOH (2000)", "engine.overhaul_year", None),
    ("1180 SMOH (2000), TBO 1800", "engine.hours_since_overhaul_h", 1180),
    ("1180 SMOH (2,000)", "engine.tbo_h", 2000),
    ("310 SPOH (2018)", "engine.overhaul_year", None),                # the propeller's
    ("310 SPOH (2018)", "propeller.overhaul_year", 2018),
    ("20 STOH 2015, 900 SMOH", "engine.overhaul_year", None),         # of the cylinders
    ("SMOH 1985, nice aircraft", "engine.hours_since_overhaul_h", None),     # a year, as likely as hours
    ("SMOH 1985, nice aircraft", "engine.overhaul_year", None),
    ("TT 5,600, SMOH 1985", "engine.hours_since_overhaul_h", 1985),   # tags stand first here
    ("new cylinders at 900 SMOH, 1,240 SMOH now", "engine.hours_since_overhaul_h", 1240),
    ("SPOH 310/2400", "propeller.hours_since_overhaul_h", 310),
    ("light twin, 900/1200 SMOH", "engine.hours_since_overhaul_h", (900, 1200)),
    ("TT 4650/1180", "state.airframe_hours_h", 4650),                 # of airframe and engine
    ("right engine 412 SMOH, left engine 977 SMOH", "engine.hours_since_overhaul_h", (977, 412)),
    ("empty: 2,412 lbs. Useful: 1,388 lbs", "weights.useful_load_lb", 1388),
    ("empty 2,412 lbs. Useful 1,388 lbs", "weights.useful_load_lb", 1388),
    ("2 x 25 gal", "tanks.usable_gal", 50),
    ("25 gal per side", "tanks.usable_gal", 50),
    ("2 950 hours total", "state.airframe_hours_h", 2950),
    ("1 250 000 USD", "prices.asking_price_usd", 1_250_000),
    ("25% share, $42,000", "prices.asking_price_usd", None),
    ("annual 2025-11-03", "state.months_since_annual", 3),
    ("autopilot removed", "panel.autopilot", "none"),
    ("WAAS removed", "panel.approach", None),                         # what else it can fly is not said
    ("known ice approval not included, boots", "panel.ice_protection", "escape"),
    ("150hp upgraded to 180hp", "engine.rated_hp", 180),
    ("300 SPOH 1975 4 seat", "propeller.overhaul_year", None),        # the year of build
    ("900 hours since 2006 overhaul", "engine.overhaul_year", 2006),
    ("prop overhauled: 2020", "propeller.hours_since_overhaul_h", None),
    ("asking $72,000, appraised at $85,000", "prices.asking_price_usd", 72_000),
    ("there is no history of damage", "state.damage_history", "none"),
    ("glass retrofit 2021", "identity.year", None),
])
def test_traps(text, key, value):
    said = found(text).get(key)
    assert said == (pytest.approx(value, rel=0.005) if isinstance(value, int | float) else value)


@pytest.mark.parametrize(("text", "used", "left"), [
    ("mid-time engine, 2000 TBO", "engine_hours_of_tbo_share", ()),          # half of 2,000 h stands in the profile
    ("600 hours left to TBO (2000)", "engine_hours_left_h", ()),             # 1,400 h
    ("1180 SMOH", "engine_hours_since", ()),
    ("1180 SNEW, 4000 TT", "", ("engine_hours_since",)),                     # no figure says that they count since new
    ("600 hours left", "", ("engine_hours_left_h",)),                        # of how many is not said
    ("payload with full fuel 515, 60 gal usable", "payload_full_fuel_lb", ()),
])
def test_what_a_figure_was_worked_out_from_is_not_listed_as_without_one(text, used, left):
    proposal = read_advertisement(text, TODAY)
    assert used in [*(f.key for f in proposal.advertisement.found), ""]
    assert tuple(f.key for f in proposal.also if f.key.startswith(("engine_hours", "payload"))) == left


def test_a_date_is_read_as_seen_from_the_day():
    assert found("annual due 9/26", date(2026, 9, 1)).get("state.months_since_annual") == 12
    autumn = date(2026, 11, 28)
    for words, since in (("Annual due in March.", 8), ("annual due November", 12), ("annual due in December", 11),
                         ("annual done in March", 8), ("annual completed December", 11)):
        assert found(words, autumn).get("state.months_since_annual") == since, words
    assert found("'79 retractable", date(2026, 1, 1)).get("identity.year") == 1979
    assert found("'28 retractable", date(2026, 1, 1)).get("identity.year") == 2028  # three years ahead at most
    assert found("'30 retractable", date(2026, 1, 1)).get("identity.year") == 1930


def test_payload_with_full_fuel_becomes_useful_load():
    # 515 lb + 92 gal x 6 lb = 1,067 lb
    figures = {f.key: f for f in read_advertisement("Payload with full fuel 515. 92 gal usable.", TODAY).figures}
    assert figures["weights.useful_load_lb"].value == 1067
    assert figures["weights.useful_load_lb"].how == "converted"


def test_run_out_of_a_known_interval_is_a_range_of_hours():
    # 0.95, 1 and 1.15 of 2,000 h
    figures = {f.key: f for f in read_advertisement("run-out engine, TBO 2000", TODAY).figures}
    assert figures["engine.hours_since_overhaul_h"].value == (1900, 2000, 2300)


def test_what_is_missing_is_asked_and_what_is_said_is_not():
    proposal = read_advertisement(REFERENCE[0].text, TODAY)
    asked = {q.key for q in proposal.questions}
    assert {"engine.overhaul_year", "tanks.usable_gal", "state.coastal"} <= asked
    assert not asked & {"engine.hours_since_overhaul_h", "prices.asking_price_usd", "state.damage_history",
                        "identity.year"}
    assert proposal.letter.count("\n1. ") == 1


def test_unclear_words_are_asked_back():
    asked = read_advertisement("annual 2/26", TODAY).questions
    (question,) = [q for q in asked if q.key == "state.months_since_annual"]
    assert "annual 2/26" in question.text


def test_what_stands_on_one_line_of_a_list_is_no_part_of_the_next():
    said = found("MAX GROSS WEIGHT (LBS): 2,950\nEMPTY WEIGHT (LBS): 1,794\nSEATS: 4")
    keys = ("weights.max_takeoff_lb", "weights.empty_weight_lb", "identity.seats")
    assert tuple(map(said.get, keys)) == (2950, 1794, 4)


def test_a_sentence_goes_on_over_the_end_of_its_line():
    said = found("It is a very clean aeroplane that was always kept inside and has a useful load of\n"
                 "1,012 pounds and flies well.")
    assert said.get("weights.useful_load_lb") == 1012


def test_2000_in_brackets_is_said_to_be_unclear():
    source = found("1180 SMOH (2000)").source("engine.tbo_h")
    assert source.how == "unclear"
    assert "year" in source.note


@pytest.mark.parametrize("words", ["props 310/310 SPOH", "L prop 120, R prop 412"])
def test_two_propellers_make_a_profile_that_can_be_read(words):
    proposal = read_advertisement(f"1976 light twin 2x180 hp, six seats, {words}", TODAY)
    assert proposal.misfits == ()
    hours = yaml.safe_load(proposal.profile_text)["propeller"]["hours_since_overhaul_h"]
    assert hours == (310 if "310" in words else {"low": 120, "likely": 266, "high": 412})


def test_nothing_is_silent():
    text = "Lovely paint scheme from Kansas, 1180 SMOH"
    said = found(text)
    assert "Lovely paint scheme from Kansas" in said.unread


def test_classes():
    # engines, places, gear, power -> class, from the trade's classes
    for text, words in (("light twin 2x180", "light twin"), ("six seat fixed gear 300 hp", "six-seat fixed gear"),
                        ("four seat retractable 260 hp", "four-seat retractable, 210-260 hp"), ("nice aircraft", ""),
                        ("six seat retractable turbo 310 hp", "six-seat turbocharged single"),
                        ("4 seat fixed gear 235 hp", "fixed-gear hauler, 200-260 hp")):
        assert read_advertisement(text, TODAY).class_words == words


@pytest.mark.parametrize("text", ["", "   \n", "x" * 30_000])
def test_what_is_no_advertisement_is_refused(text):
    with pytest.raises(InputError):
        read_advertisement(text, TODAY)


def test_no_text_breaks_it():
    rng = random.Random(4)
    words = [w for c in CASES for w in c.text.split()]
    for _ in range(150):
        text = " ".join(rng.choice(words) for _ in range(rng.randint(1, 40)))
        yaml.safe_load(read_advertisement(text, TODAY).profile_text)


@pytest.mark.parametrize("text", ["approx " * 400, "a" + " " * 5_000 + "b", "1" * 5_000, " on the" * 500 + " 5",
                                  "76/" * 1_000, "\x01\x02\u202e 900 SMOH " * 100])
def test_odd_texts_end_soon(text):
    """Patterns that look again and again at the same words took minutes here."""
    assert isinstance(read_advertisement(text, TODAY).profile_text, str)


def test_claims_that_fit_no_aircraft_are_said():
    proposal = read_advertisement("1978 four seat retractable 200 hp, cruise 330 kts, $80,000", TODAY)
    assert any("tas_kt" in said for said in proposal.misfits)
    assert proposal.guesses == ()
    assert read_advertisement(REFERENCE[0].text, TODAY).misfits == ()
