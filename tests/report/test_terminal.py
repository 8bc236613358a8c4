"""The answer on one screen."""

from __future__ import annotations

import io
from types import SimpleNamespace

import numpy as np
import pytest
from rich.console import Console

from missionsim.report.answer import answer
from missionsim.report.terminal import _on_the_day, _reasons, print_comparison
from missionsim.report.wording import CAUTIONS


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
