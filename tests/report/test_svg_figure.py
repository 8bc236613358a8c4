"""Letters that the measuring font lacks are said once, and no other warning is lost."""

from __future__ import annotations

import re
import warnings

import pytest
from joblib.externals.loky.backend.reduction import dumps

from missionsim.base.parallel import Helpers
from missionsim.report.html import page_figures
from missionsim.report.sections import further_sections
from missionsim.report.svg_figure import (
    _LIKE,
    SvgFigure,
    _attributes,
    _letters_missing,
    _look_once,
    _straight,
    drawn_beside,
)


def named(name):
    def draw(figure):
        figure.add_subplot().set_title(name)
    return SvgFigure("a", "A", "", "words", 2.0, draw)


def test_a_script_without_a_font_is_said_once_and_stands_in_the_figure(caplog):
    _letters_missing.cache_clear()
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert all("\u98db" in named(words).svg for words in ("\u98db\u884c\u6a5f", "\u98db\u6a5f"))
    assert len(caplog.records) == 1
    assert "letters are missing" in caplog.text


def test_other_warnings_come_through():
    def draw(figure):
        figure.add_subplot()
        warnings.warn("mind this", UserWarning, stacklevel=1)

    with pytest.warns(UserWarning, match="mind this"):
        assert SvgFigure("b", "B", "", "words", 2.0, draw).svg


@pytest.mark.parametrize(("long", "short"), [
    ("M0 0L5 0L5 3L0 3z", "M0 0H5V3H0z"),          # round a corner, back to the start by z
    ("M1 2L3 4L3 9", "M1 2L3 4V9"),
    ("M1 2C1 2 3 4 5 6L5 8", "M1 2C1 2 3 4 5 6V8"),
    ("M0 0z L0 4", "M0 0zL0 4"),                    # after a closed path nothing is known of the place
])
def test_steps_along_an_axis_take_one_number(long, short):
    assert _straight(long) == short


def test_three_that_look_alike_say_it_once_and_others_keep_their_own():
    def dot(x, look):
        return f'<use href="#d" x="{x}" style="{look}"/>'
    assert _LIKE.sub(_look_once, "".join(dot(x, "fill: red") for x in (1, 2, 3)) + dot(4, "fill: blue")) == (
        '<g style="fill: red"><use href="#d" x="1"/><use href="#d" x="2"/><use href="#d" x="3"/></g>'
        + dot(4, "fill: blue"))
    two = dot(1, "fill: red") + dot(2, "fill: red") + dot(3, "fill: blue")
    assert _LIKE.sub(_look_once, two) == two


@pytest.mark.parametrize(("style", "attributes"), [
    ("fill: none; stroke: #ccd4d8; stroke-width: 0.6", ' fill="none" stroke="#ccd4d8" stroke-width="0.6"'),
    ("fill: url(#a-b); stroke-dasharray: 5.9,2.5; stroke-dashoffset: 0;",
     ' fill="url(#a-b)" stroke-dasharray="5.9,2.5"'),
    ("font-size: 9px; font-family: sans-serif; text-anchor: end", ' font-size="9px" text-anchor="end"'),
    ("font: 9.5px sans-serif; text-anchor: middle", ' font-size="9.5px" text-anchor="middle"'),
    ("font: italic 700 9px serif", ' font-style="italic" font-weight="700" font-size="9px" font-family="serif"'),
])
def test_a_look_is_said_by_attributes(style, attributes):
    assert re.sub(r' style="([^"]*)"', _attributes, f'<path style="{style}"/>') == f"<path{attributes}/>"


def shown(comparison):
    of_sections = [figure for section in further_sections(comparison) for figure in section.figures]
    return [*page_figures(comparison).values(), *of_sections]


def test_figures_drawn_by_another_process_are_the_same(comparison):
    here, there = shown(comparison), shown(comparison)
    assert len(here) >= 4
    with Helpers(None, 2) as helpers:
        drawn_beside(there, helpers)()
    assert all("svg" in vars(figure) for figure in there)       # drawn before anybody asked
    assert [figure.svg for figure in there] == [figure.svg for figure in here]


def test_little_goes_to_whoever_draws(comparison):
    """Not the comparison with all its years, of which a figure shows a hundredth."""
    for figure in shown(comparison):
        assert len(dumps(figure)) < 50_000, figure.name
