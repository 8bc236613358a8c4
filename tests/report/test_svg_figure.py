"""Letters that the measuring font lacks are said once, and no other warning is lost."""

from __future__ import annotations

import warnings

import pytest

from missionsim.report.svg_figure import _letters_missing, svg_figure


def named(name):
    def draw(figure):
        figure.add_subplot().set_title(name)
    return svg_figure("a", "A", "", "words", 2.0, draw)


def test_a_script_without_a_font_is_said_once_and_stands_in_the_figure(caplog):
    _letters_missing.cache_clear()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        figures = [named("\u98db\u884c\u6a5f"), named("\u98db\u6a5f")]
    assert all("\u98db" in figure.svg for figure in figures)
    assert len(caplog.records) == 1
    assert "letters are missing" in caplog.text


def test_other_warnings_come_through():
    def draw(figure):
        figure.add_subplot()
        warnings.warn("mind this", UserWarning, stacklevel=1)

    with pytest.warns(UserWarning, match="mind this"):
        svg_figure("b", "B", "", "words", 2.0, draw)
