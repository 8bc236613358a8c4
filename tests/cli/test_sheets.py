"""Tables of commands on screens of any width."""

from __future__ import annotations

import io

import pytest
from rich.console import Console

from missionsim.cli.sheets import tables_that_fit
from missionsim.report.text_table import Sheet

SHEET = Sheet("levels", ("level ft", "headwind kt", "dev. from standard °C", "climb ft/min", "why"), (
    ("4,000", "-8", "2", "1,101", "flown"), ("12,000", "-14", "15", "126", "climb: 126 of 150 ft/min")))


def shown(width):
    console = Console(file=io.StringIO(), width=width, highlight=False, markup=False)
    for table in tables_that_fit(SHEET, console):
        console.print(table)
    return console.file.getvalue()


@pytest.mark.parametrize("width", [140, 80, 60, 40, 24])
def test_no_figure_and_no_word_of_a_heading_is_broken_at_any_width(width):
    text = shown(width)
    assert max(len(line) for line in text.splitlines()) <= width
    words = text.split()
    assert {"4,000", "12,000", "-8", "-14", "2", "15", "1,101", "126"} <= set(words)
    assert {"headwind", "standard", "ft/min", "why"} <= set(words)


def test_a_table_that_fits_is_one_with_its_headings_in_one_line():
    assert "level ft   headwind kt   dev. from standard °C   climb ft/min   why" in shown(140)
    assert shown(80).count("levels") == 1


def test_the_first_column_stands_in_every_part_of_a_table_too_wide():
    text = shown(24)
    assert text.count("levels") > 1
    assert text.count("12,000") == text.count("levels")
