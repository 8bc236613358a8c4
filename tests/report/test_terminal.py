"""The answer on one screen."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from missionsim.report.terminal import print_comparison
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
    assert len(lines) <= 72
    flat = " ".join(text.split())
    assert "of 7 trips; all of them done, a year costs" in flat
    assert CAUTIONS[0] in flat
    assert "How well the average" in flat or "Be ready for" in flat
    assert "somewhere/else" in text


def test_no_colour_and_no_markup_where_it_is_not_a_terminal(comparison):
    text = printed(comparison, 120)
    assert "\x1b" not in text
    assert '<b onclick="alert(1)">' in " ".join(text.split())  # as typed: a terminal knows no tags


def test_wide_screens_show_more(comparison):
    assert "flight h" in printed(comparison, 120)
    assert "door h" not in printed(comparison, 80)
