"""Pictures of shared use: where marks lie, by hand."""

from __future__ import annotations

import pytest

from missionsim.report.shared_screen import RulerSums, Value, curves, drawn, ruler


def test_lines_begin_at_zero_and_end_at_the_highest():
    made = curves("t", "n", "x", [("a", [Value(0.0, 100.0, "1", "w"), Value(10.0, 50.0, "2", "v", own=True)])],
                  across=str, upward=str)
    (series,) = made.series
    # From 62 to 386 across, from 228 at zero dollars up to 20 at a hundred.
    assert [(p.x, p.y) for p in series.points] == [(62.0, 20.0), (386.0, 124.0)]
    assert [p.own for p in series.points] == [False, True]
    assert series.words == "a: w, v"


def test_a_ruler_by_hand():
    made = ruler("t", "n", [RulerSums("a", "w", (0.0,), (500.0,), ((250.0, 750.0),))], 1000.0, str)
    (row,) = made.rows
    assert row.points == ((12.0, False), (200.0, True))
    assert row.spans == ((106.0, 294.0),)
    assert made.line is not None
    assert made.line.at == 388.0


@pytest.mark.parametrize("name", ["<b>a</b>", "a & b"])
def test_names_are_text(name):
    made = drawn([curves("t", "n", "x", [(name, [Value(0.0, 1.0, "", name)])], across=str, upward=str)], [name])
    assert name not in made
    assert "&lt;b&gt;" in made or "&amp;" in made
