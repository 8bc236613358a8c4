"""Odd arguments of every command: one fault a line, exit code 2, nothing printed as if it were an answer."""

from __future__ import annotations

import os

import pytest
from hypothesis import HealthCheck, given
from hypothesis import settings as limits
from hypothesis import strategies as st

LEG = ("leg", "retractable_260", "KGRI", "KOMA")
LONG = "x" * 5000


@pytest.mark.parametrize(("arguments", "words"), [
    (("leg",), "Missing argument"),
    (("leg", "nope", "KGRI", "KOMA"), "no aircraft 'nope' is known"),
    (("leg", LONG, "KGRI", "KOMA"), "no aircraft 'xxx"),
    (("leg", "/dev/null", "KGRI", "KOMA"), "is known"),
    (("leg", ".", "KGRI", "KOMA"), "is known"),
    (("leg", "nope.yaml", "KGRI", "KOMA"), "not found"),
    (("leg", "retractable_260", "KGRX", "KOMA"), "no airport 'KGRX'"),
    (("leg", "retractable_260", "KGRI", LONG), "no airport 'xxx"),
    (("leg", "retractable_260", "", ""), "no airport ''"),
    (("leg", "retractable_260", "KGRI", "KGRI"), "another airport"),
    (("leg", "retractable_260", "KGRI", "NZAA"), "no airport 'NZAA'"),
    ((*LEG, "--people", "-3"), "accepted: 1 to 20 people"),
    ((*LEG, "--people", "0"), "accepted"), ((*LEG, "--people", "nan"), "accepted"),
    ((*LEG, "--people", "inf,2"), "accepted"), ((*LEG, "--people", "1e400"), "accepted"),
    ((*LEG, "--people", ""), "accepted"), ((*LEG, "--people", ",".join(["170"] * 21)), "accepted"),
    ((*LEG, "--bags-lb", "-1"), "range"), ((*LEG, "--bags-lb", "1e9"), "range"), ((*LEG, "--bags-lb", "inf"), "range"),
    ((*LEG, "--bags-lb", "nan"), "no number"), ((*LEG, "--temp-dev", "nan"), "no number"),
    ((*LEG, "--temp-dev", "-61"), "range"), ((*LEG, "--bags-lb", "40kg"), "not a valid"),
    ((*LEG, "--wind", "270"), "no wind"), ((*LEG, "--wind", "270/"), "no wind"), ((*LEG, "--wind", "/"), "no wind"),
    ((*LEG, "--wind", "361/10"), "no wind"), ((*LEG, "--wind", "270/-5"), "no wind"),
    ((*LEG, "--wind", "nan/nan"), "no wind"), ((*LEG, "--wind", "270-25"), "no wind"),
    ((*LEG, "--wind", "270/201"), "no wind"), ((*LEG, "--surface-wind", "west"), "no wind"),
    ((*LEG, "--still-air", "--wind", "1/1"), "leave out"), ((*LEG, "--rules", "IFR"), "'instrument', 'visual'"),
    ((*LEG, "--date", "2025-02-29"), "no date"), ((*LEG, "--date", ""), "no date"),
    ((*LEG, "--date", "0000-00-00"), "no date"), ((*LEG, "--date", "1949-12-31"), "1950 to 2100"),
    ((*LEG, "--date", "2101-01-01"), "1950 to 2100"), ((*LEG, "--date", "2025-07-01T10:00+02:00"), "without a zone"),
    ((*LEG, "--study", "nowhere.yaml"), "not found"), ((*LEG, "--study", "."), "is a folder"),
    (("check",), "Missing argument"), (("check", "nope"), "not found"), (("check", "."), "is a folder"),
    (("check", LONG), "too long"), (("check", "/dev/null"), "neither file nor folder"), (("check", ""), "folder"),
    (("climate", "nope"), "no airport"), (("climate", ""), "no airport"), (("climate", LONG), "no airport"),
    (("climate", "91,0"), "no position"), (("climate", "nan,nan"), "no position"), (("climate", "40,"), "no position"),
    (("climate", ","), "no position"), (("climate", "40,-98,3"), "no position"), (("climate", "inf,1"), "no position"),
    (("climate", "-33.9,151"), "no weather station"), (("climate", "90,0"), "no weather station"),
    (("climate", "KGRI", "--study", "nope"), "not found"),
    (("trips", "nope"), "not found"), (("trips", "."), "is a folder"), (("trips", "--replication", "-1"), "range"),
    (("trips", "--replication", "100000"), "range"), (("trips", "--seed", "-1"), "range"),
    (("trips", "--seed", "9" * 20), "range"), (("trips", "--out", "no/such/place.csv"), "cannot be written"),
    (("trips", "--out", LONG), "too long"), (("trips", "--out", "."), "already"),
    (("new",), "Missing argument"), (("new", LONG), "too long"), (("new", "/dev/null/x"), "cannot be written"),
    (("partners", "nope"), "not found"), (("partners", "."), "is a folder"),
    (("rates", "nope"), "not found"), (("rates", "."), "is a folder"),
    (("compare", "nope"), "not found"), (("compare", "."), "is a folder"), (("compare", ""), "folder"),
    (("compare", "--out", LONG), "too long"), (("compare", "--out", "."), "folder you are in"),
    (("compare", "--out", "/dev/null"), "is not a folder"), (("compare", "--out", "/dev/null/x"), "write there"),
    (("compare", "--keep", "0"), "accepted"), (("compare", "--keep", "²"), "accepted"),
    (("compare", "--keep", "9" * 5000), "accepted"), (("compare", "--keep", "-1"), "accepted"),
    (("compare", "--workers", "0"), "range"), (("compare", "--replications", "1e3"), "valid"),
    (("compare", "a\0b"), "zero byte"), (("leg", "a", "b", "c\0"), "zero byte"),
    (("nosuch",), "No such command"), (("--nosuch",), "No such option"), (("",), "No such command"),
])
def test_odd_arguments_are_refused_in_plain_words(told, empty, arguments, words):
    err = told(*arguments).refused()
    assert words.lower() in err.lower(), err
    assert not list(empty.iterdir()), "something was written"


def test_a_number_of_options_is_short_to_say(told, empty):
    assert len(told("leg", LONG, LONG, LONG).refused()) < 600


WORDS = st.one_of(
    st.text(max_size=12),
    st.sampled_from(["-", "--", "--json", "--out", "-1", "nan", "1e999", "../..", "KGRI", "~", "*",
                                           "--date", "--wind", "--study", "$HOME", "\u202e", "9" * 40]))
COMMAND = st.sampled_from(["leg", "check", "climate", "trips", "new", "partners", "rates", "compare", ""])


@limits(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(COMMAND, st.lists(WORDS, min_size=1, max_size=5))
def test_any_words_end_in_an_answer_or_a_refusal(told, empty, command, words):
    if command == "compare" and not any(w and not w.startswith("-") for w in words):
        words = ["nope", *words]  # without a study the packaged demo would fly
    if command in {"partners", "rates", "trips", "new"}:
        words = ["no/such", *words]
    ended = told(command, *words)
    assert ended.code in {0, 2}
    assert "Traceback" not in ended.err


@pytest.mark.skipif(os.name == "nt", reason="links and pipes of another kind")
def test_links_in_a_circle_and_pipes_are_refused_without_waiting(told, empty):
    (empty / "one").symlink_to("two")
    (empty / "two").symlink_to("one")
    os.mkfifo(empty / "pipe.yaml")
    assert "one" in told("compare", "one").refused()
    assert "neither file nor folder" in told("check", "pipe.yaml").refused()
    assert "one" in told("trips", "--out", "one").refused()
    assert "one" in told("compare", "--out", "one").refused()
