"""Ownership, what the answer hangs on, upgrades and rent or own, as the page and the screen tell them."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from rich.console import Console

from missionsim.report import owned_tables
from missionsim.report.answer import verdicts
from missionsim.report.contract import comparison_object
from missionsim.report.sections import further_sections
from missionsim.report.terminal_more import print_more
from missionsim.study.compare.compare import compare
from missionsim.study.compare.recost import Recosted
from missionsim.study.compare.rent_or_own import rent_or_own
from missionsim.study.compare.sensitivity import Bar
from missionsim.study.compare.variants import upgrades
from missionsim.study.inputs.load_study import load_study


@pytest.fixture(scope="module")
def owned():
    study = load_study()
    table = replace(study.listed, trips=study.listed.trips[:6])
    small = replace(study, listed=table, candidates=study.candidates[:2],
                    spec=study.spec.model_copy(update={"years": 2}))
    found = compare(small, 2)
    rent = rent_or_own(Recosted(found.prepared, [r.tally for r in found.results]))
    months = {name: [40.0 + m for m in range(12)] for name in found.names}
    one = replace(small, candidates=small.candidates[:1])
    return replace(found, rent_or_own=rent, upgrades=upgrades(one, 2), annual_months=months)


def test_every_part_has_its_section_and_no_cell_is_a_python_word(owned):
    sections = {s.anchor: s for s in further_sections(owned)}
    assert {"ownership", "questions", "tipping", "upgrades", "rent"} <= set(sections)
    for section in sections.values():
        for table in section.tables:
            assert {len(row) for row in table.rows} <= {len(table.head)}
            for row in table.rows:
                assert not [cell for cell in row if "None" in cell or "nan" in cell.split()]


def test_cash_by_year_runs_from_purchase_to_sale(owned):
    table = owned_tables.cash_by_year(owned)
    assert [row[0] for row in table.rows] == ["0, purchase", "1", "2, sale"]
    assert table.rows[2][1].startswith("−$")        # the sale brings money


def test_the_printed_object_has_the_promised_keys(owned):
    found = comparison_object(owned, None)
    for candidate in found["candidates"]:
        assert [y["year"] for y in candidate["by_year"]] == [0, 1, 2]
        assert {"mean", "low", "high"} <= set(candidate["net_present_cost_usd"])
        assert candidate["ownership"]["insurance"]["insurable"] is True
    assert {"candidate", "figure", "value_usd", "standard_error_usd", "why"} <= set(found["find_out"][0])
    for point in found["tipping_points"]:
        assert {"variable", "at", "low", "high", "from", "to"} <= set(point)


def test_the_screen_tells_it_in_eighty_columns(owned):
    out = io.StringIO()
    print_more(Console(file=out, width=80), owned)
    text = out.getvalue()
    assert "2 years: buying, flying all trips, selling" in text
    assert "Own, rent or travel otherwise" in text
    assert max(map(len, text.splitlines())) <= 80


def test_who_is_not_insurable_is_said(owned):
    said = verdicts(owned)
    assert not any("insuring" in sentence for sentence in said)
    first, *rest = owned.results
    refused = replace(first, insurance={"insurable": False, "why": ["60 h total"], "premium_usd": 9e3, "dual_h": 0.0})
    (told,) = set(verdicts(replace(owned, results=(refused, *rest)))) - set(said)
    assert told == (f"{first.name}: we expect difficulty insuring this pilot in it (60 h total); the premium counted, "
                    "9,000 dollars the first year, is our estimate, ask a broker.")


def test_upgrades_say_what_may_be_chance_and_safety_is_not_priced(owned):
    (table, *_) = owned_tables.upgrades(owned)
    rows = {row[0]: row for row in table.rows}
    others = rows["the rest does not pay in trips or dollars, as far as can be told"][-1]
    assert "shoulder belts" in others
    assert "safety" in others
    assert "risk is not valued" in table.caption
    assert len(table.rows) <= 6
    out = io.StringIO()
    print_more(Console(file=out, width=80), owned)
    shown = out.getvalue().splitlines()
    assert any(line.startswith(("The rest does not pay in trips or", "Nothing pays in trips or")) for line in shown)


def test_offers_tell_what_is_counted_as_paid_and_what_a_price_above_it_says(owned):
    table = owned_tables.offers(owned)
    assert table is not None
    assert table.head[1:3] == ("Asked", "Counted as paid")
    for row, offer in zip(table.rows, owned.offers, strict=True):
        assert float(row[2][1:].replace(",", "")) == pytest.approx(0.95 * offer.asking_usd, abs=51.0)
    out = io.StringIO()
    print_more(Console(file=out, width=80), owned)
    assert "What to offer at most: equal to the cheapest other aircraft" in out.getvalue()
    assert any(owned_tables.OFFERS_TOLD in section.text for section in further_sections(owned))


@pytest.mark.parametrize(("unit", "low", "high", "text"), [
    ("1/year", 0.03, 0.08, "3.00 to 8.00 % a year"), ("x", 0.5, 1.5, "50 to 150 % of what it is"),
    ("$", 0.0, 90_000.0, "as it is to $90,000"), ("$/gal", 4.9, 7.8, "4.90 to 7.80 $/gal")])
def test_the_ends_of_an_input_are_told_as_people_say_them(unit, low, high, text):
    assert owned_tables._between(Bar("", unit, low, high, "", {}, {}, 0.0, False)) == text
