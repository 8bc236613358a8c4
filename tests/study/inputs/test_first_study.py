"""A first study from a buyer's answers: it loads, says what was said, and keeps what is there."""

from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.first_study import (
    Answers,
    Errand,
    airport_named,
    errand_of,
    flown_proposal,
    write_first_study,
)
from missionsim.study.inputs.load_study import load_study

FIRST = "1978 four-seat retractable, 200 hp, TT 4,650, 1180 SMOH, UL 905, $124,900 OBO"
SECOND = "1985 4 seat fixed gear, 180 hp, 3,870 TT, 940 SMOH, 50 gal, 67K"
LOGBOOK = """Date,From,To,Pax,Night
6-May-25,KGRI,KOMA,1,0
6-May-25,KOMA,KGRI,1,0
7-May-25,KGRI,KGRI,0,0
"""


def answers(**more):
    return Answers("mine", airport_named("Grand Island, NE")[0], (flown_proposal(FIRST), flown_proposal(SECOND)),
                   errands=(Errand(("KOMA",), 12, 2), Errand(("KDEN",), 4, 3, 2)), **more)


def test_a_study_of_answers_loads_and_says_what_was_said(tmp_path):
    files = write_first_study(tmp_path / "mine", answers(rating="visual", night=False, total_h=620,
                                                          weight_lb=195)).files
    study = load_study(files[0])
    assert (study.name, study.home.ident) == ("mine", "KGRI")
    pilot = study.pilot
    assert (pilot.rating, pilot.night, pilot.total_h, pilot.weight_lb) == ("visual", False, 620, 195)
    assert [(d.places, d.per_year, d.adults, d.nights) for d in study.demand] == [
        (("KOMA",), 12, {2: 1.0}, {0: 1.0}), (("KDEN",), 4, {3: 1.0}, {2: 1.0})]
    assert [c.profile.prices.asking_price_usd for c in study.candidates] == [124_900, 67_000]
    letters = sorted((tmp_path / "mine" / "aircraft").glob("*_questions.txt"))
    assert len(letters) == 2
    assert "In which year was the engine overhauled?" in letters[0].read_text()


def test_two_alike_get_names_of_their_own(tmp_path):
    twice = Answers("mine", airport_named("KGRI")[0], (flown_proposal(FIRST), flown_proposal(FIRST)),
                    errands=(Errand(("KOMA",), 3),))
    study = load_study(write_first_study(tmp_path / "mine", twice).files[0])
    assert len({c.name for c in study.candidates}) == 2


def test_a_logbook_gives_the_trips(tmp_path):
    (tmp_path / "log.csv").write_text(LOGBOOK)
    files = write_first_study(tmp_path / "mine", answers(trips=tmp_path / "log.csv")).files
    study = load_study(files[0])
    assert study.listed.from_logbook
    assert [(t.stops, t.adults) for t in study.listed] == [(("KGRI", "KOMA", "KGRI"), 2)]
    assert study.listed.local_flights == 1


def test_nothing_is_overwritten(tmp_path):
    (tmp_path / "study.yaml").write_text("mine")
    with pytest.raises(InputError, match="not overwritten"):
        write_first_study(tmp_path, answers())
    assert [p.name for p in tmp_path.iterdir()] == ["study.yaml"]


@pytest.mark.parametrize(("line", "expected"), [
    ("Omaha, NE 12", Errand(("KOMA",), 12)), ("KDEN 4 times a year, 3 people, 2 nights", Errand(("KDEN",), 4, 3, 2)),
    ("KLNK twice a month", Errand(("KLNK",), 24)), ("Lincoln, NE weekly", Errand(("KLNK",), 52)),
    ("KHYS, 6x with 2 people", Errand(("KHYS",), 6, 2)), ("KMHK once a year for 2 nights", Errand(("KMHK",), 1, 1, 2)),
])
def test_lines_of_where_and_how_often(line, expected):
    assert errand_of(line, airport_named("KGRI")[0]) == expected


@pytest.mark.parametrize("line", ["Omaha, NE", "Nowhereville 3", "KGRI 3", "12"])
def test_lines_that_say_too_little(line):
    with pytest.raises(InputError):
        errand_of(line, airport_named("KGRI")[0])


def test_what_cannot_be_flown_is_said():
    with pytest.raises(InputError, match="turbine"):
        flown_proposal("single-engine turboprop, pressurized, 4,120 TTSN, $1.35M")
    assert flown_proposal("1965 180 hp, 50 gal, $67,000", "4 seats, fixed gear").class_id == "f180"
