"""The answer on one screen."""

from __future__ import annotations

import io
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from rich.console import Console

from missionsim.report.answer import answer
from missionsim.report.answer_alternatives import alternative_rows, must_go_words
from missionsim.report.terminal import _on_the_day, _reasons, print_comparison
from missionsim.report.wording import CAUTIONS
from missionsim.study.compare.alternatives import Alternatives


def printed(comparison, width):
    out = io.StringIO()
    print_comparison(Console(file=out, width=width, highlight=False), comparison, "somewhere/else")
    return out.getvalue()


@pytest.mark.parametrize("width", [80, 120])
def test_the_answer_fits_the_screen(comparison, width):
    text = printed(comparison, width)
    lines = text.splitlines()
    assert max(len(line) for line in lines if not line.startswith("file://")) <= width
    assert len(lines) <= 90
    assert next(k for k, line in enumerate(lines) if line.startswith("Why trips were not made")) <= 32
    flat = " ".join(text.split())
    assert "of 7 trips; all of them done, a year costs" in flat
    assert CAUTIONS[0] in flat
    assert "How well the average" in flat or "Be ready for" in flat
    assert "somewhere/else" in text


def test_every_sentence_stands_once_behind_its_dash_and_under_what_it_is_about(comparison):
    said, lines = answer(comparison), printed(comparison, 400).splitlines()
    told = [line[2:].rstrip() for line in lines if line.startswith("- ")]
    assert [s for s in told if s in (*said.first, *said.limits, *said.more)] == [*said.first, *said.limits, *said.more]
    for about, sentences in said.parts:
        at = lines.index(about)
        assert [line[2:].rstrip() for line in lines[at + 1:at + 1 + len(sentences)]] == list(sentences)
    assert lines.index("How sure that is") > next(k for k, line in enumerate(lines) if line.startswith("Why trips"))


@pytest.mark.parametrize("width", [80, 120])
def test_trips_that_had_to_be_made_and_were_not_are_told_of_how_many(comparison, width):
    """Two trips of the logbook must be made; of the four ways that fly all have a number, having none a dash."""
    lines = printed(comparison, width).splitlines()
    assert "Lost: of 2 trips a year that must be made, those not made by light aircraft." in lines
    from_end = 0 if width == 80 else 1    # the wide table has the flight hours behind
    first = next(i for i, line in enumerate(lines) if line.startswith("Alternative"))
    cells = {r["name"]: r for r in alternative_rows(comparison)}
    rented = next(line for line in lines[first:] if line.startswith("rented four-seat")).split()
    lost = comparison.rented.tally.trips
    assert rented[-1 - from_end] == f"{(lost.must_go & ~lost.made).sum() / 2:.1f}"
    assert next(line for line in lines[first:] if line.startswith("no aircraft")).split()[-1 - from_end] == "–"
    assert 0.0 <= cells["rented four-seat, 170 hp"]["must_go_lost"]["mean"] <= 2.0


def test_a_list_without_trips_that_must_be_made_says_so(comparison):
    none = comparison.alternatives.none
    every = tuple(replace(x, must_go_lost=np.zeros(2)) for x in (none,))
    without = replace(comparison, alternatives=Alternatives(every))
    assert must_go_words(without) == "no trip is marked as one that must be made"


def test_no_colour_and_no_markup_where_it_is_not_a_terminal(comparison):
    text = printed(comparison, 120)
    assert "\x1b" not in text
    assert '<b onclick="alert(1)">' in " ".join(text.split())  # as typed: a terminal knows no tags


def test_wide_screens_show_more(comparison):
    assert "flight h" in printed(comparison, 120)
    assert "door h" not in printed(comparison, 80)


def test_trips_broken_off_stand_beside_those_refused(comparison):
    broken = np.array([0.0, 2.0, 1.0, 0.0])
    tally = SimpleNamespace(column=lambda name: {"broken_off": broken}[name])
    result = SimpleNamespace(refused={"on_the_day": {"ceiling": 5.6, "wind": 0.4}}, tally=tally)
    assert _on_the_day(result, 4) == "ceiling 5.6, wind 0.4; broken off 0.8"
    assert _on_the_day(SimpleNamespace(refused={"on_the_day": {}}, tally=tally), 4) == "broken off 0.8"


def test_no_reason_is_printed_with_nothing_behind_it():
    assert _reasons({"climb": 0.9, "payload": 0.03}, 4) == "climb 0.9"
    assert _reasons({"climb": 0.9, "payload": 0.03, "seats": 0.02}, 4) == "climb 0.9, others 0.1"
    assert _reasons({"climb": 0.9, "payload": 0.8, "seats": 0.2}, 1) == "climb 0.9, others 1.0"
    assert _reasons({"payload": 0.04}, 4) == _reasons({}, 4) == "none"
