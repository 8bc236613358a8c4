"""Each form of the verdict, from results made by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from missionsim.money.categories import CODE, Category
from missionsim.report import verdict as forms
from missionsim.report.answer import answer
from missionsim.report.verdict import verdict
from missionsim.study.compare.find_out import FindOut
from missionsim.study.compare.sensitivity import Bar
from missionsim.study.replicate.tally import MEASURES

YEARS = 30
FIRST, SECOND = "Alpha", "Bravo"


def made_by_hand(comparison, chance, completed=(40.0, 40.0), usd=(50_000.0, 52_000.0)):
    """Return two candidates over thirty years alike, with dollars and trips as given and the chance of the first."""
    results = []
    for name, result, trips, cost in zip((FIRST, SECOND), comparison.results, completed, usd, strict=True):
        table = np.repeat(result.tally.table[:1], YEARS, axis=0)
        table[:, MEASURES.index("completed")] = trips
        money = {"mean": cost, "low": cost - 1_000.0, "high": cost + 1_000.0, "p10": cost - 9_000.0,
                 "p50": cost, "p90": cost + 12_000.0}
        part = replace(result.tally, name=name, table=table,
                       categories=np.repeat(result.tally.categories[:1], YEARS, axis=0))
        results.append(replace(result, name=name, tally=part,
                               measures={**result.measures, "net_cost_usd": money}))
    cost = np.stack([np.full((YEARS, 2), u) for u in usd])
    sure = replace(comparison.certainty, lead=0, confidence_mean_best=(chance, 1.0 - chance), over=(1.0, chance),
                   probability_best=(chance, 1.0 - chance), clear=(False, chance >= 0.95), enough=True,
                   knowing_all_usd=500.0, listing_usd=np.zeros((2, YEARS)),
                   priced=replace(comparison.certainty.priced, cost=cost))
    return replace(comparison, results=tuple(results), certainty=sure, lead=0, clear=sure.clear, replications=YEARS,
                   find_out=(), bars=(), tipping_points=(), alternatives=None, as_asked=())


def test_clearly_cheapest(comparison):
    found = verdict(made_by_hand(comparison, 0.97))
    assert found.form == forms.CLEAR
    assert found.sentence == (
        "Of these aircraft the Alpha does the trips for clearly the least money: over 9 chances in 10 that its "
        "average year is the cheapest, and it is the cheapest in nearly every year.")


def test_level_names_dollars_chances_and_what_else_divides_them(comparison):
    found = verdict(made_by_hand(comparison, 0.78, completed=(40.0, 43.0)))
    assert found.form == forms.LEVEL
    assert found.sentence == (
        "Level on money, by the chance that its average year is the cheapest: the Alpha (50,000 dollars, about 8 "
        "in 10) and the Bravo (52,000 dollars, about 2 in 10, 3.0 trips more).")


@pytest.mark.parametrize(("usd", "hours", "expected"), [
    (50_000.0, 400.0, ", 9,000 dollars a year over having no aircraft (300 for each trip it makes or 300 for each "
                      "hour saved)"),
    (50_000.0, 430.0, ", 9,000 dollars a year over having no aircraft (300 for each trip it makes and no hour "
                      "clearly saved)"),
    (40_000.0, 400.0, ", 1,000 dollars a year under having no aircraft")])
def test_for_the_least_money_stands_beside_what_it_costs_over_not_owning(comparison, usd, hours, expected):
    found, wobble = made_by_hand(comparison, 0.97), np.tile([-1.0, 1.0], YEARS // 2)
    every = [replace(a, name=FIRST if a.kind == "own" else a.name,
                     usd=np.full(YEARS, usd if a.kind == "own" else 41_000.0), time_usd=np.zeros(YEARS),
                     made=np.full(YEARS, 30.0),
                     equal_hours=(hours if a.kind == "own" else 430.0) + wobble * (a.kind == "own"))
             for a in comparison.alternatives.every if a.kind in {"own", "none"}]
    found = replace(found, alternatives=replace(comparison.alternatives, every=tuple(every)))
    assert f"for clearly the least money{expected}: over 9 chances" in verdict(found).sentence


@pytest.mark.parametrize(("value", "expected"), [
    (60.0, ", 7,200 dollars a year over having no aircraft, hours at 60 dollars an adult's in both (9,000 over it "
           "without them: 300 for each trip it makes or 300 for each hour saved)"),
    (400.0, ", 3,000 dollars a year under having no aircraft, hours at 400 dollars an adult's in both (9,000 over it "
            "without them: 300 for each trip it makes or 300 for each hour saved)")])
def test_the_price_of_a_trip_and_an_hour_holds_nothing_of_what_hours_are_valued_at(comparison, value, expected):
    found, wobble = made_by_hand(comparison, 0.97), np.tile([-1.0, 1.0], YEARS // 2)
    every = []
    for a in (a for a in comparison.alternatives.every if a.kind in {"own", "none"}):
        own = a.kind == "own"
        hours = (400.0 if own else 430.0) + wobble * own
        every.append(replace(a, name=FIRST if own else a.name, usd=np.full(YEARS, 50_000.0 if own else 41_000.0),
                             time_usd=np.full(YEARS, value * (400.0 if own else 430.0)), made=np.full(YEARS, 30.0),
                             equal_hours=hours))
    prices = replace(found.prepared.prices, value_of_time_usd_per_h=value)
    found = replace(found, alternatives=replace(comparison.alternatives, every=tuple(every)),
                    prepared=replace(found.prepared, prices=prices))
    assert f"for clearly the least money{expected}: over 9 chances" in verdict(found).sentence


def test_a_further_trip_is_priced_without_what_hours_are_valued_at(comparison):
    found = made_by_hand(comparison, 0.97, completed=(40.0, 44.0))
    hours = [np.zeros_like(r.tally.categories) for r in found.results]
    hours[1][:, CODE[Category.TIME]] = 50_000                       # 500 of the second's 2,000 dollars more, in cents
    results = [replace(r, tally=replace(r.tally, categories=cents))
               for r, cents in zip(found.results, hours, strict=True)]
    prices = replace(found.prepared.prices, value_of_time_usd_per_h=60.0)
    found = replace(found, results=tuple(results), prepared=replace(found.prepared, prices=prices))
    assert "with which each further trip costs 380 dollars, hours not valued: " in verdict(found).sentence


def test_who_is_neither_level_nor_clearly_dearer_is_named(comparison):
    found = made_by_hand(comparison, 0.96)
    sure = replace(found.certainty, clear=(False, False))
    said = verdict(replace(found, certainty=sure, clear=(False, False)))
    assert said.form == forms.LEVEL
    assert said.sentence == (
        "No candidate is the cheapest beyond doubt; by the chance that its average year is, the Alpha (50,000 dollars, "
        "over 9 in 10) comes first. The Bravo has hardly a chance of it.")


def test_cheaper_but_fewer_trips_says_what_a_further_trip_costs(comparison):
    found = verdict(made_by_hand(comparison, 0.97, completed=(40.0, 44.0)))
    assert found.form == forms.FEWER
    # 2,000 dollars more for 4 trips more.
    assert "but makes 4.0 trips fewer than the Bravo, with which each further trip costs 500 dollars" in found.sentence
    assert verdict(made_by_hand(comparison, 0.97, completed=(40.0, 40.3))).form == forms.CLEAR


def test_what_it_costs_over_not_owning_stands_before_what_a_further_trip_costs(comparison, monkeypatch):
    monkeypatch.setattr(forms, "_over_none", lambda _: ", 20,000 dollars a year over having no aircraft")
    said = verdict(made_by_hand(comparison, 0.97, completed=(40.0, 44.0))).sentence
    assert ("the least money, 20,000 dollars a year over having no aircraft, but makes 4.0 trips fewer than the Bravo, "
            "with which each further trip costs 500 dollars: ") in said


ONE = FindOut("seller", FIRST, "state.tank", "tank sealant", "", 300.0, 20.0, None, (), ("leaking",), "", "choice",
              True)


def test_it_hangs_on_one_answer_where_that_is_worth_half_of_knowing_all(comparison):
    level = made_by_hand(comparison, 0.6)
    found = verdict(replace(level, find_out=(ONE,)))
    assert found.form == forms.HANGS
    assert found.sentence.startswith(
        "It hangs on one thing: tank sealant of the Alpha; another is the choice at leaking.")
    assert "Level on money" in found.sentence
    assert verdict(replace(level, find_out=(replace(ONE, value_usd=249.0),))).form == forms.LEVEL
    number = replace(ONE, changing=(), break_even=(1_812.5,), unit="lb")
    assert "tank sealant of the Alpha; the choice changes at 1,812 lb." in verdict(
        replace(level, find_out=(number,))).sentence


def test_it_hangs_on_one_input_where_only_that_turns_a_clear_lead(comparison):
    clear = made_by_hand(comparison, 0.97)
    turns = Bar("yield of own money", "1/year", 0.03, 0.08, "", {FIRST: 49.0, SECOND: 51.0},
                {FIRST: 53.0, SECOND: 52.0}, 3.0, True)
    found = verdict(replace(clear, bars=(turns, replace(turns, changes_hands=False))))
    assert found.form == forms.HANGS
    assert found.sentence.startswith(
        "It hangs on one thing, yield of own money: at 3 % a year the Alpha is the cheapest, at 8 % a year the Bravo.")
    assert verdict(replace(clear, bars=(turns, replace(turns, what="fuel")))).form == forms.CLEAR    # not on one thing


def test_too_few_years_to_tell(comparison):
    one = verdict(replace(made_by_hand(comparison, 0.97), replications=1))
    assert (one.form, one.sentence) == (forms.FEW, "From one year nothing can be said about the differences.")
    few = made_by_hand(comparison, 0.97)
    few = replace(few, certainty=replace(few.certainty, enough=False))
    assert verdict(few).form == forms.FEW
    assert "80 are needed" in verdict(few).sentence


def test_none_does_the_job(comparison):
    found = made_by_hand(comparison, 0.97)
    out = [replace(r, does_the_job="no", why_not=f"makes {k} % of the trips") for k, r in enumerate(found.results, 40)]
    said = verdict(replace(found, results=tuple(out)))
    assert said.form == forms.NONE
    assert said.sentence == (
        "None of these does the job: the Alpha makes 40 % of the trips and the Bravo makes 41 % of the trips.")


def test_one_that_does_not_do_the_job_stands_apart_and_the_other_is_not_called_level(comparison):
    found = made_by_hand(comparison, 0.97)
    out = replace(found.results[1], does_the_job="no", why_not="makes 40 % of the trips, 80 % are asked for")
    said = verdict(replace(found, results=(found.results[0], out)))
    assert said.form == forms.ALONE
    assert said.sentence == "The Bravo makes 40 % of the trips, 80 % are asked for, and stands apart."


@pytest.mark.parametrize(("equal", "expected"), [
    ({"at": 151.7, "low": 135.2, "high": 171.9},
     "Below 152 dollars (135 to 172) an hour of an adult's time, the pilot's at the controls counted half, not owning "
     "is better."),
    ({"at": 151.7, "low": None, "high": None},
     "Below 152 dollars an hour of an adult's time, the pilot's at the controls counted half, not owning is better."),
    ({"at": 1_516.0, "low": 931.0, "high": 4_067.0},
     "Not owning is better: it costs 9,000 dollars a year less, and only from 1,500 dollars on for an hour of an "
     "adult's time, the pilot's at the controls counted half, would owning make up for that."),
    ({"at": None, "low": None, "high": None},
     "Not owning is better: it costs 9,000 dollars a year less, and no value of an hour of your time is found that "
     "makes up for that."),
])
def test_below_which_value_of_an_hour_not_owning_is_better(comparison, equal, expected):
    found = made_by_hand(comparison, 0.97)
    every = [replace(a, name=FIRST, usd=np.full(2, 50_000.0), time_usd=np.zeros(2)) if a.kind == "own" else
             replace(a, usd=np.full(2, 41_000.0), time_usd=np.zeros(2)) for a in comparison.alternatives.every]
    other = replace(comparison.alternatives, every=tuple(every))
    lead = replace(found.results[0], equals_not_owning_usd_per_h=equal)
    found = replace(found, alternatives=other, results=(lead, found.results[1]))
    assert forms.below(found) == expected
    cheap = [replace(a, usd=np.full(2, 40_000.0)) if a.kind == "own" else a for a in every]
    assert forms.below(replace(found, alternatives=replace(other, every=tuple(cheap)))) == ""


def test_difficulty_insuring_is_said_on_the_first_screen_with_whose_estimate_it_is(comparison):
    found = made_by_hand(comparison, 0.97)
    hard = {"insurable": False, "why": ["300 hours in type asked for"], "premium_usd": 9_412.0}
    said = answer(replace(found, results=(replace(found.results[0], insurance=hard), found.results[1])))
    told = next(s for s in said.short_limits if s.startswith("Alpha"))
    assert told.startswith("Alpha: we expect difficulty insuring this pilot in it")
    assert "9,412 dollars the first year, is our estimate, ask a broker" in told


def test_the_wallet_is_told_once_with_all_layers_and_each_by_itself(comparison):
    found = made_by_hand(comparison, 0.97)
    lead = replace(found.results[0], spread={"luck": 6_231.0, "listing": 980.0, "prices": 7_214.0, "total": 9_721.0,
                                             "interaction": 0.0}, prices_usd={"p10": 45_000.0, "p90": 57_000.0},
                   measures={**found.results[0].measures, "net_cost_at_likely_prices_usd": {"mean": 48_200.0}})
    said = answer(replace(found, results=(lead, found.results[1])))
    assert said.wallet.startswith("Be ready for 41,000 to 62,000 dollars a year, 8 cases of 10:")
    assert f"{said.wallet} {said.layers}" in said.sentences
    assert said.layers == (
        "By itself luck moves a year of it typically by ± 6,200 dollars, what the advertisement leaves open by "
        "± 1,000. The average is known to ± 1,000 (95 %) from the years flown; prices nobody gave put it from 45,000 "
        "to 57,000 in 8 cases of 10. At likely prices, as in the ledger, it is 48,200.")
