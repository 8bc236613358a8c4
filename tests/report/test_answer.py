"""Sentences claim a difference only where it holds after correction; no more precision than there is."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

from missionsim.report.answer import _left_open, answer
from missionsim.report.wording import (
    chance,
    count,
    dollars,
    in_ten,
    kinds_of_sources,
    listing,
    number,
    percent,
    source_words,
)
from missionsim.study.compare.find_out import FindOut


def changed(comparison, share):
    """Return the comparison with the first candidate leading by the chance given, over both ways of being cheapest."""
    sure = replace(comparison.certainty, lead=0, confidence_mean_best=(share, 1.0 - share), over=(1.0, share),
                   probability_best=(share, 1.0 - share), clear=(False, share >= 0.95))
    return replace(comparison, certainty=sure, lead=0, clear=sure.clear, replications=30)


def test_the_first_number_answers_the_question(comparison):
    said = answer(comparison)
    made = comparison.results[comparison.lead].tally.column("completed").mean()
    none = comparison.alternatives.none.net_usd.mean()
    assert f"makes {number(made, 0)} of 7 trips" in said.cost
    assert "of it car and airline" in said.cost
    assert f"the same year costs {dollars(none)} dollars" in said.cost
    assert "dollars a year more than having none" in said.not_owning
    assert said.sentences[:2] == (said.verdict, said.cost)


def test_the_parts_hold_the_rest_once_and_none_is_empty(comparison):
    said = answer(comparison)
    assert all(about and sentences and all(sentences) for about, sentences in said.parts)
    assert set(said.first).isdisjoint(said.more)
    bare = replace(said, layers="", not_owning="", against="", marked="", wanted=("", ""), trade=(), cash="", change="",
                   ask=said.ask[:1])
    assert bare.parts == () == bare.more
    alone = replace(bare, against="It is alike.")
    assert alone.parts == (("Against having none, and against the next", ("It is alike.",)),)


def test_chances_are_no_finer_than_the_years_allow():
    assert chance(0.64, 99) == "about 6 chances in 10"
    assert chance(0.12, 20) == "about 1 chance in 10"
    assert chance(0.97, 20) == "over 9 chances in 10"
    assert chance(0.97, 100) == "over 95 chances in 100"
    assert in_ten(0.999) == "nearly all"


def same_flown(comparison):
    first, second = comparison.results
    return replace(comparison, results=(first, replace(second, tally=replace(first.tally, name=second.name))))


def test_equal_trips_and_hours_are_called_alike(comparison):
    said = answer(same_flown(comparison))
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
    assert answer(alone).verdict == ""
    single = replace(comparison, replications=1)
    assert "nothing can be said" in answer(single).verdict


def test_words():
    assert [dollars(v) for v in (54_149.0, 54_150.1, -260.0, None)] == ["54,100", "54,200", "−300", "–"]
    assert [number(v) for v in (1.25, -0.01, float("nan"), None)] == ["1.2", "0.0", "–", "–"]
    assert [percent(v) for v in (0.0, 0.001, 0.5, 0.999, 1.0)] == ["0 %", "under 1 %", "50 %", "over 99 %", "100 %"]
    assert [listing(v) for v in ([], ["a"], ["a", "b"], ["a", "b", "c"])] == ["", "a", "a and b", "a, b and c"]
    assert [count(1, "leg"), count(2_000, "leg")] == ["1 leg", "2,000 legs"]


def test_what_would_change_it_names_the_other_and_the_side(comparison):
    lead, other = comparison.names
    points = ({"variable": "fuel_usd_per_gal", "unit": "$/gal", "at": 4.2, "low": 3.9, "high": 4.6, "from": other,
               "to": lead, "how": "", "placed": True},
              {"variable": "own_money_share_per_year", "unit": "1/year", "at": 0.09, "low": None, "high": None,
               "from": lead, "to": other, "how": "", "placed": False},
              {"variable": "party_size", "unit": "", "at": None, "low": None, "high": None, "from": lead, "to": other,
               "how": "", "placed": False})
    surely = replace(changed(comparison, 0.97), tipping_points=points)
    said = answer(surely).change
    assert "becomes the cheapest if fuel falls below $4.20 a gallon." in said
    assert "Not placed, since the interval is open or holds what is today: at which yield of your money" in said
    assert other.split()[0] in said
    assert answer(replace(surely, tipping_points=())).change == ""
    assert answer(replace(changed(comparison, 0.6), tipping_points=points)).change == ""  # nobody leads yet


def test_marked_trips_and_whether_the_order_holds_without_them(comparison):
    lead = comparison.lead
    rows = list(comparison.as_asked)
    made = comparison.results[lead].tally.column("completed").astype(float)
    rows[lead] = replace(rows[lead], made=made - 2.0)
    held = answer(replace(comparison, as_asked=tuple(rows))).marked
    assert "2.0 were moved to another day, adapted to the load or marginal" in held
    assert "counted as not made, the order by cost stays." in held
    other = 1 - lead
    rows[other] = replace(rows[other], usd=rows[lead].usd - 1_000.0)
    turned = answer(replace(comparison, as_asked=tuple(rows))).marked
    assert turned.endswith("costs least.")
    rows[lead] = replace(rows[lead], made=made)
    assert answer(replace(comparison, as_asked=tuple(rows))).marked == ""


def test_what_to_find_out_comes_with_whom_and_worth(comparison):
    one = FindOut("seller", "X", "weights.useful_load_lb", "useful load", "lb", 412.0, 95.0, None, (), (), "", "choice",
                  True)
    rent = replace(one, who="landlord", candidate="every aircraft", label="hangar rent", value_usd=88.0,
                   standard_error_usd=None, bargain=False)
    enough = replace(comparison, replications=100, find_out=(one, rent))
    assert answer(enough).ask == (
        "Find out first: useful load, for the X, from the seller; the answer is worth 410 dollars a year, ± 100, and "
        "can be used to bargain.",
        "Then: hangar rent, from the landlord; the answer is worth 90 dollars a year, and cannot be used to bargain.")
    loose = replace(rent, label="fare", who="oneself", kept="budget", spread_usd=5_210.0)
    assert answer(replace(enough, find_out=(loose,))).ask == (
        "No single answer, of a seller or on a price, is worth 100 dollars a year to this choice.",
        "For your budget, not for the choice, in dollars a year: fare (± 5,200).")
    assert "from 100 simulated years on" in answer(replace(comparison, find_out=())).ask[0]


def test_what_was_remembered_is_called_our_estimate_in_front_of_readers():
    assert source_words("rest from memory") == "rest our estimate, no published source"
    assert kinds_of_sources(["14 CFR 91.151", "TMY3", "common practice", "from memory", "review; from memory"]) == {
        "law": 1, "published": 1, "common practice": 1, "our own estimates": 2}


def test_a_wish_list_tells_how_much_of_it_is_wanted_and_what_seven_of_ten_trips_make(comparison):
    study = replace(comparison.study, spec=comparison.study.spec.model_copy(update={"trips_are": "wish_list"}))
    lead = comparison.names[comparison.lead]

    def figure(mean):
        return {"mean": mean, "low": None, "high": None}

    rows = [{"kind": "own", "name": n, "net_cost_usd": figure(30_000.0 + 1_000.0 * (n != lead)),
             "trips_made": figure(4.0), "over_not_owning_usd": figure(20_000.0)} for n in comparison.names]
    entries = tuple({"share": s, "trips_wanted": 7.0 * s, "order": [lead, "x"], "alternatives": rows}
                    for s in (0.7, 1.0))
    wish = replace(comparison, prepared=replace(comparison.prepared, study=study), by_share_wanted=entries)
    said = answer(wish).wanted
    assert "Of the 7 trips a year of the list, taken as a wish list, 7 are really wanted" in said[0]
    assert "people make 5 to 9.5 of 10" in said[0]
    assert said[1].startswith(f"At 7 of 10 trips (5) the {lead}" if not lead.startswith("the") else "At 7 of 10 trips")
    assert "makes 4 and the year costs 30,000 dollars, 20,000 more than having no aircraft" in said[1]
    assert "The cheapest candidate is the same at both." in said[1]
    assert not any(answer(comparison).wanted)   # all of it is wanted: nothing to say


@pytest.mark.parametrize(("unsaid", "usd", "said"), [
    ((), 0.0, ""), (("x",), 1_640.0, ", what the advertisement leaves open by ± 1,600"),
    (("x",), 30.0, "; what the advertisement leaves open does not stand out from that in the years flown")])
def test_what_is_open_and_not_told_from_luck_is_not_called_nothing(unsaid, usd, said):
    flyer = SimpleNamespace(listing=SimpleNamespace(unsaid=unsaid))
    found = SimpleNamespace(lead=0, prepared=SimpleNamespace(flyers=[flyer]))
    assert _left_open(found, usd) == said


@pytest.mark.parametrize(("silent", "whose"), [(7, "any of the 7 trips"), (4, "4 of the 7 trips"), (3, "")])
def test_an_answer_on_parties_that_nobody_told_says_so_before_all_else(comparison, silent, whose):
    study = comparison.study
    trips = tuple(replace(t, party_said=i >= silent) for i, t in enumerate(study.listed))
    changed_study = replace(study, listed=replace(study.listed, trips=trips))
    limits = answer(replace(comparison, prepared=replace(comparison.prepared, study=changed_study))).limits
    told = [s for s in limits if "who comes" in s]
    assert told == ([limits[0]] if whose else [])
    assert not whose or told[0].startswith(f"Nothing tells who comes on {whose}: they are flown with the pilot alone")
