"""What ground and weather do not cover is said of shared studies too: once, in the same words, wherever it is read."""

from __future__ import annotations

import html
from io import StringIO
from pathlib import Path

import pytest
from rich.console import Console

from missionsim.report.partners_page import partners_page
from missionsim.report.rates_page import rates_page
from missionsim.report.shared_page import page_html, print_page
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.coverage import not_covered
from missionsim.study.shared_use.hire import prepare_hire
from missionsim.study.shared_use.partner_results import partners
from missionsim.study.shared_use.partners import prepare_partners
from missionsim.study.shared_use.rates_results import rates

AIRCRAFT = Path(__file__).parents[3] / "profiles" / "aircraft" / "boosted_six.yaml"
ANCHORAGE = f"study: north\nhome: PANC\nyear: 2025\ncandidates: [{AIRCRAFT}]\n"
# Two pilots who fly by different rules are prepared apart; each goes to Fairbanks, one to Kenai as well.
MEMBERS = """assumptions: {sharing.demand_years: 1}
members:
  sizes: [2]
  people:
    - {name: a, demand: [{to: PAFA, per_year: 6}]}
    - {name: b, pilot: {rating: visual}, demand: [{to: PAFA, per_year: 6}, {to: PAEN, per_year: 6}]}
"""
OTHERS = """assumptions: {hire.demand_years: 1}
operation: rental_leaseback
demand: [{to: PAFA, per_year: 6}]
outside: {requests: [{to: PAEN, per_year: 6}]}
"""


def prepared(folder, text, prepare):
    (folder / "study.yaml").write_text(ANCHORAGE + text, encoding="utf-8")
    return prepare(load_study(folder / "study.yaml"))


@pytest.mark.parametrize(("text", "prepare", "fly", "page_of"), [
    (MEMBERS, prepare_partners, partners, partners_page), (OTHERS, prepare_hire, rates, rates_page),
], ids=["partners", "rates"])
def test_unknown_ground_is_told_on_page_and_terminal(tmp_path, text, prepare, fly, page_of):
    ready = prepared(tmp_path, text, prepare)
    parts = ready.group.prepared
    assert len(parts) == 2
    told = not_covered(*parts)
    assert [words.split(". ")[0] for words in told] == ["Terrain unknown: PAEN to PANC, PAFA to PANC"]
    assert {words.split(". ")[1] for part in parts for words in not_covered(part)} == {told[0].split(". ")[1]}
    page = page_of(fly(ready, 1))
    assert f"<li>{told[0]}</li>" in html.unescape(page_html(page))
    terminal = Console(file=StringIO(), width=400)
    print_page(terminal, page, None)
    assert f"Note: {told[0]}" in terminal.file.getvalue()


def test_a_point_that_two_parts_pass_counts_once(tmp_path):
    # No way of this study is far from a station; a limit of 10 nm makes most points far.
    near = OTHERS.replace("}", ", weather.farthest_station_nm: 10}", 1).replace("PAEN", "PAFA")
    parts = prepared(tmp_path, near, prepare_hire).group.prepared
    assert len(parts) == 2
    one, other, both = not_covered(parts[0])[1], not_covered(parts[1])[1], not_covered(*parts)[1]
    # The visual pilots' part looks at more points, those of the other among them: together they are no more.
    assert "points;" in one
    assert one != other
    assert both == other
