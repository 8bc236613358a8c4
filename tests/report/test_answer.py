"""Sentences claim a difference only where it holds after correction; no more precision than there is."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np

from missionsim.report.answer import answer
from missionsim.report.wording import count, dollars, listing, number, percent
from missionsim.statistics.comparisons import significantly_best
from missionsim.statistics.intervals import measure
from missionsim.study.replicate.tally import MEASURES


def changed(comparison, shift_usd, noise_usd=0.0, years=30):
    """Return the comparison with the second candidate's year that of the first, its net cost plus a shift and noise."""
    random = np.random.default_rng(3)
    first, second = comparison.results
    table = np.tile(first.tally.table[:1], (years, 1))
    column = MEASURES.index("net_cost_cents")
    table[:, column] = 5e6 + random.normal(0, 3e5, years)
    other = table.copy()
    other[:, column] += 100.0 * (shift_usd + random.normal(0, noise_usd, years))
    results = tuple(replace(r, tally=replace(r.tally, table=t)) for r, t in ((first, table), (second, other)))
    results = tuple(replace(r, measures={**r.measures, "net_cost_usd": measure(r.values("net_cost_usd"))})
                    for r in results)
    lead = significantly_best(np.stack([r.values("net_cost_usd") for r in results]), 0.05)
    return replace(comparison, results=results, lead=lead.best, clear=tuple(lead.clear), replications=years)


def test_a_clear_lead_is_claimed(comparison):
    said = answer(changed(comparison, 5_000, 500))
    assert said.verdict.startswith("It is the cheapest:")
    assert "more than chance" in said.verdict


def test_a_lead_within_chance_is_not_claimed(comparison):
    said = answer(changed(comparison, 100, 4_000))
    assert "clearly the cheapest" in said.verdict
    assert said.verdict.startswith("No candidate")
    assert "may be chance" in said.verdict


def test_equal_trips_and_hours_are_called_alike(comparison):
    said = answer(changed(comparison, 5_000, 500))
    assert "about as many trips" in said.against
    assert "about as many hours" in said.against


def test_few_years_are_said(comparison):
    said = answer(comparison)
    assert any("Only 2 simulated years" in s for s in said.limits)
    assert said.question == "Which <em>one</em>?"


def test_a_logbook_holds_only_what_went(comparison):
    table = replace(comparison.study.listed, from_logbook=True)
    logbook = replace(comparison, prepared=replace(comparison.prepared, study=replace(comparison.study, listed=table)))
    assert any("only the trips that went" in s for s in answer(logbook).limits)


def test_one_candidate_and_one_year(comparison):
    alone = replace(comparison, results=comparison.results[:1], clear=(False,), lead=0)
    assert "no other candidate" in answer(alone).verdict
    single = replace(comparison, replications=1)
    assert "nothing can be said" in answer(single).verdict
    assert answer(single).confidence == ""


def test_words():
    assert [dollars(v) for v in (54_149.0, 54_150.1, -260.0, None)] == ["54,100", "54,200", "−300", "–"]
    assert [number(v) for v in (1.25, -0.01, float("nan"), None)] == ["1.2", "0.0", "–", "–"]
    assert [percent(v) for v in (0.0, 0.001, 0.5, 0.999, 1.0)] == ["0 %", "under 1 %", "50 %", "over 99 %", "100 %"]
    assert [listing(v) for v in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert [count(1, "leg"), count(2_000, "leg")] == ["1 leg", "2,000 legs"]


def test_what_would_change_it_names_the_other_and_the_side(comparison):
    lead, other = comparison.names[comparison.lead], comparison.names[1 - comparison.lead]
    points = ({"variable": "fuel_usd_per_gal", "unit": "$/gal", "at": 4.2, "low": None, "high": None, "from": other,
               "to": lead, "how": ""},
              {"variable": "own_money_share_per_year", "unit": "1/year", "at": 0.09, "low": None, "high": None,
               "from": lead, "to": other, "how": ""},
              {"variable": "party_size", "unit": "", "at": None, "low": None, "high": None, "from": lead, "to": other,
               "how": ""})
    said = answer(replace(comparison, tipping_points=points)).change
    assert "would be the cheapest by mean with price of fuel below 4.20 dollars a gallon or yield of own money " \
           "above 9.0 %." in said
    assert other.split()[0] in said
    assert answer(replace(comparison, tipping_points=())).change == ""


def test_questions_are_told_only_from_enough_years(comparison):
    asked = SimpleNamespace(candidate="X", why="useful load unknown", value_usd=412.0, standard_error_usd=95.0)
    enough = replace(comparison, replications=100, questions=(asked,))
    assert answer(enough).ask == ("Ask the seller of the X: useful load unknown (worth 410 dollars a year, ± 100).",)
    assert answer(replace(comparison, questions=(asked,))).ask == ()
