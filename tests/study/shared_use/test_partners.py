"""Partnerships end to end: who takes part, money to the cent, workers, and that company changes nobody's luck."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from money_cases import all_cents, fund_change_cents

from missionsim.base.errors import InputError
from missionsim.money.categories import CODE, OUTSIDE, Category
from missionsim.money.cost_sharing import Payments
from missionsim.report.contract import dumps
from missionsim.report.partners_answer import fund_holds
from missionsim.report.partners_page import partners_object, partners_page
from missionsim.report.wording import dollars, number
from missionsim.study.inputs.load_study import load_study
from missionsim.study.shared_use.equity import Leaving, best_size, capital_rows, leaving, shortfall_usd
from missionsim.study.shared_use.fund import agreement_of, quantile_measure
from missionsim.study.shared_use.owned import draws_of, owned_by_group
from missionsim.study.shared_use.partner_results import partners
from missionsim.study.shared_use.partners import prepare_partners, taking_part, typical_of
from missionsim.study.shared_use.years import fly_years, sums_of_chunk

DEMO = Path(__file__).parents[3] / "profiles" / "studies" / "partnership.yaml"


def study_of(folder, text=""):
    file = folder / "study.yaml"
    file.write_text(f"extends: {DEMO}\ncandidates: [{DEMO.parents[1]}/aircraft/retractable_260.yaml]\n"
                    f"assumptions: {{sharing.demand_years: 2}}\n{text}", encoding="utf-8")
    return load_study(file)


@pytest.fixture(scope="module")
def study(tmp_path_factory):
    return study_of(tmp_path_factory.mktemp("partners"))


@pytest.fixture(scope="module")
def prepared(study):
    return prepare_partners(study)


@pytest.fixture(scope="module")
def sums(prepared):
    return sums_of_chunk(prepared, range(4))[0]


@pytest.fixture(scope="module")
def result(prepared):
    return partners(prepared, 4)


def test_members_take_part_by_turns():
    for size in range(1, 9):
        seen = [taking_part(size, 4, r) for r in range(8)]
        assert all(len(set(people)) == size for people in seen)
        counts = np.bincount([p for people in seen for p in people], minlength=8)
        assert set(counts[:4]) == {2 * min(size, 4)}
    assert taking_part(4, 4, 3) == [0, 1, 2, 3]
    assert taking_part(2, 4, 3) == [0, 3]
    assert taking_part(6, 4, 1) == taking_part(6, 4, 0) == [0, 1, 2, 3, 4, 5]  # two more, always the same


def test_added_members_are_like_the_one_the_study_says(study, prepared, result, tmp_path):
    # 24, 20, 19 and 18 trips a year, 20.25 in the mean: nearest is the second.
    assert [sum(line.per_year for line in m.demand) for m in study.members] == [24, 20, 19, 18]
    unsaid = [replace(m, spec=m.spec.model_copy(update={"typical": False})) for m in study.members]
    assert typical_of(unsaid) == 1
    assert [p.name for p in prepared.group.persons[4:]] == ["like vet"] * 4
    assert [p.pilot.age for p in prepared.group.persons[4:]] == [58] * 4
    assert result.use.typical == partners_object(result, None)["added_members_like"] == "vet"
    two = "members: {people: [" + ", ".join(
        f"{{name: {n}, typical: true, demand: [{{to: KOMA, per_year: 1}}]}}" for n in "ab") + "]}\n"
    with pytest.raises(InputError, match="one member with `typical: true`"):
        study_of(tmp_path, two)


def test_every_wanted_trip_is_flown_or_refused_for_one_reason(sums):
    for own in sums.sizes.values():
        assert (own["wanted"] == own["flown"] + own["refused"].sum(axis=1)).all()
        assert (own["lost"] <= own["met"] + own["wanted"] * 0.2).all()
    m = sums.members
    assert (m["wanted"] == m["flown"] + m["refused"].sum(axis=2)).all()
    assert (m["booked"] >= m["flown"]).all()


def test_members_add_up_to_the_group(sums):
    whole, parts = sums.sizes[4], sums.members
    for name in ("wanted", "met", "lost", "flown", "cancelled", "moved", "flight_hours"):
        assert parts[name].sum(axis=1) == pytest.approx(whole[name]), name
    assert parts["refused"].sum(axis=1) == pytest.approx(whole["refused"])


def test_one_owner_never_meets_a_booking(sums):
    assert sums.sizes[1]["met"].sum() == 0
    # What is still lost is a trip that the owner's own last one ran into.
    assert sums.sizes[1]["lost"].sum() <= 0.03 * sums.sizes[1]["wanted"].sum()


def test_more_members_lose_more_trips_and_pay_less(sums, result):
    lost = [own["lost"].sum() / own["wanted"].sum() for own in sums.sizes.values()]
    assert lost[0] < lost[2] < lost[4] < lost[7]
    cost = [row["cost_per_member_usd"]["mean"] for row in result.candidates[0].sizes]
    assert all(a > b for a, b in pairwise(cost))


def test_what_members_pay_is_what_it_costs_and_the_change_of_the_fund(study, sums, result):
    # To the cent, in every replication; the ledger's cost, plus training of the rest.
    own, terms = sums.members, result.candidates[0].terms
    agreed = agreement_of(study, own)
    bills, paid = agreed.billed, agreed.paid
    assert agreed.terms == terms
    assert (paid.paid_cents.sum(axis=1) == all_cents(agreed.bills) + fund_change_cents(paid, agreed.bills)).all()
    # One claim in a hundred years parked and three in twenty thousand hours, a thousand dollars each.
    more = (all_cents(agreed.bills) - all_cents(bills)) / 100.0
    assert more == pytest.approx(10.0 + 0.15 * own["flight_hours"].sum(axis=1), abs=0.03)
    whole, outside = sums.sizes[4], [CODE[c] for c in OUTSIDE]
    spent = whole["cash_cents"].sum(axis=1) - whole["cash_cents"][:, outside].sum(axis=1)
    assert (all_cents(bills) == spent + 3 * whole["training_cents"]).all()


def test_members_all_in_and_what_stays_in_the_fund_are_the_headline(result):
    """What members bear in all is the group's cost of a year, plus what they pay into the fund beyond it."""
    c = result.candidates[0]
    headline = next(r for r in c.sizes if r["members"] == len(c.members))["cost_per_member_usd"]["mean"]
    all_in = sum(m["all_in_usd"]["mean"] for m in c.members)
    assert all_in == pytest.approx(len(c.members) * headline + c.into_the_fund_usd["mean"], abs=1.0)
    assert [m["equity_share"] for m in c.members] == [0.25] * 4


def test_unequal_equity_buys_in_costs_and_leaves_by_its_share(sums, prepared, study):
    people = study.spec.members.people
    shares = (0.5, 0.3, 0.1, 0.1)
    members = tuple(replace(m, spec=m.spec.model_copy(update={"equity_share": e}))
                    for m, e in zip(study.members, shares, strict=True))
    assert len(people) == 4
    own = replace(prepared.group.alike[0].prepared, study=replace(study, members=members))
    group = owned_by_group(own.entrants[0], sums.members["cash_cents"], sums.members["flight_hours"].sum(axis=1),
                           draws_of(own.entrants[0], len(sums.slip["slip_trips"])), years=3)
    paid = Payments(*(np.zeros((len(sums.slip["slip_trips"]), 4), dtype=np.int64) for _ in range(4)))
    rows = capital_rows(own.study, group, paid)
    assert [row["buy_in_usd"]["mean"] / rows[2]["buy_in_usd"]["mean"] for row in rows] == pytest.approx([5, 3, 1, 1])
    assert rows[0]["all_in_usd"] == rows[0]["owning_usd"]
    then = Leaving(group, 3, 10_000.0, 300.0, 3_600.0, (3_600.0, 1_800.0, None, 5_400.0))
    first, second, third, fourth = leaving(own.study, then)
    sold = -group.cash_cents[:, -1, CODE[Category.RESALE]].mean() / 100.0
    assert first["of_it_fund_usd"] == pytest.approx(5_000.0)
    assert first["exit_usd"] == pytest.approx(0.5 * 0.95 * sold + 5_000.0)
    # Half of it is bought by 30, 10 and 10 parts in fifty; four dues are paid by three, 14,400 dollars a year.
    assert list(first["others_pay_usd"].values()) == pytest.approx([first["exit_usd"] * e / 0.5 for e in shares[1:]])
    assert [row["dues_usd_per_month"] for row in (first, third)] == pytest.approx([400.0, 400.0])
    # 1,800 dollars less for the insurer: 12,600 over three and twelve months; 1,800 more: 16,200.
    assert [row["dues_usd_per_month"] for row in (second, fourth)] == pytest.approx([350.0, 450.0])
    assert first["dues_until_sold_usd"] == pytest.approx(300.0 * 12.0 * 14.0 / 52.0)


def test_every_split_shares_the_same_money(result):
    members = result.candidates[0].members
    totals = [sum(m["paid_under"][name]["mean"] for m in members) for name in members[0]["paid_under"]]
    assert len(totals) == 4
    assert totals[1:] == pytest.approx([totals[0]] * 3, abs=0.005)


@pytest.mark.slow
def test_results_do_not_depend_on_workers_or_on_how_many_years_follow(prepared, result):
    two = partners(prepared, 14, workers=2)
    one = partners(prepared, 14)
    assert partners_object(one, None) == partners_object(two, None)
    for name, values in result.candidates[0].sums.members.items():
        assert np.array_equal(values, one.candidates[0].sums.members[name][:4]), name


def test_company_changes_nobodys_wishes(sums, tmp_path):
    # The same members in groups of other sizes: trips of the study as written stay the same.
    small = fly_years(prepare_partners(study_of(tmp_path, "members: {sizes: [4]}\n")), 2)[0]
    for name, values in small.members.items():
        assert np.array_equal(values, sums.members[name][:2]), name


def test_years_in_which_somebody_or_nobody_wants_anything_cost_what_they_cost(tmp_path):
    # Two who hardly fly: whoever has no trips in a year is still a member, and fixed costs come in every year.
    rare = ("members: {sizes: [1, 2], people: [{name: a, demand: [{to: KLNK, per_year: 1}]}, "
            "{name: b, demand: [{to: KOMA, per_year: 0.4}]}]}\n")
    found = sums_of_chunk(prepare_partners(study_of(tmp_path, rare)), range(8))[0]
    wanted = found.members["wanted"]
    assert (wanted == 0).any(axis=0).all()
    assert (wanted == 0).all(axis=1).any()
    for own in found.sizes.values():
        assert (own["cash_cents"].sum(axis=1) > 500_000).all()
    assert (found.members["fixed_cents"] > 500_000).all()


def test_the_json_contract(result):
    found = partners_object(result, "somewhere")
    candidate = found["candidates"][0]
    assert {"name", "sizes", "members", "fund"} <= set(candidate)
    assert [row["members"] for row in candidate["sizes"]] == list(range(1, 9))
    for row in candidate["sizes"]:
        assert {"mean", "low", "high"} == set(row["cost_per_member_usd"]) == set(row["booked_out_share"])
        assert all(isinstance(v, float) for v in row["refused"].values())
    for row in candidate["members"]:
        for name in ("wanted", "flown", "booked_out_share", "hours", "days_held", "paid_usd"):
            assert {"mean", "low", "high"} == set(row[name]), name
    assert {"mean", "low", "high"} == set(candidate["fund"]["break_even_rate_usd"])
    assert 0.0 <= candidate["fund"]["assessment_chance"]["mean"] <= 1.0
    assert any("61.113" in text for text in found["cautions"])
    assert "NaN" not in dumps(partners_object(result, None))


def test_a_study_without_members_says_so():
    with pytest.raises(InputError, match="members"):
        prepare_partners(load_study())


def test_a_partnership_cannot_be_compared_as_one_owner(study):
    with pytest.raises(InputError, match="partners"):
        study.trips(0)


def test_faults_of_members_come_with_their_line(tmp_path):
    bad = ("members: {people: [{name: a, demand: [{to: KXXQ, per_year: 1}]}, "
           "{name: a, demand: [{to: KOMA, per_year: 1}]}]}\n")
    with pytest.raises(InputError, match="members with different names"):
        study_of(tmp_path, bad)
    with pytest.raises(InputError, match=r"study.yaml:4: members.people\[1\].demand\[1\].to: no airport 'KXXQ'"):
        study_of(tmp_path, bad.replace("name: a, demand: [{to: KOMA", "name: b, demand: [{to: KOMA"))


def test_a_quantile_has_an_interval_of_order_statistics():
    values = np.arange(1.0, 201.0)
    found = quantile_measure(values, 0.9)
    # 180 plus and minus 1.96 times the root of 200 x 0.9 x 0.1: ranks 171 and 189.
    assert found["mean"] == pytest.approx(180.1)
    assert (found["low"], found["high"]) == (171.0, 189.0)
    assert quantile_measure(np.array([3.0]), 0.9)["low"] is None


def test_an_hour_of_the_group_is_what_its_members_pay_over_what_they_fly(result):
    for candidate in result.candidates:
        for row in candidate.sizes:
            all_pay = row["members"] * row["cost_per_member_usd"]["mean"]
            assert row["cost_per_hour_usd"]["mean"] == pytest.approx(all_pay / row["flight_hours"]["mean"], rel=1e-6)


def test_every_key_of_the_printed_object(result):
    """Version 2: other programs read these by name."""
    found = partners_object(result, "somewhere")
    assert set(found) == {"version", "study", "year", "seed", "added_members_like", "replications", "candidates",
                          "cautions", "out"}
    assert found["version"] == 2
    measured = {"cost_per_member_usd", "net_cost_per_member_usd", "booked_out_share", "met_booked_share", "moved_share",
                "flown_share", "flight_hours", "cost_per_hour_usd", "wanted", "none_net_cost_per_member_usd",
                "more_than_none_per_member_usd", "written_cost_per_member_usd", "written_net_cost_per_member_usd",
                "written_more_than_none_usd", "written_wanted", "written_flown", "written_lost", "written_hours",
                "written_flown_share", "written_booked_out_share"}
    against_none = {"of_shortfall_usd", "bears_usd", "car_and_airline_usd", "given_up_usd", "time_usd", "net_cost_usd",
                    "none_car_and_airline_usd", "none_given_up_usd", "none_time_usd", "none_net_cost_usd",
                    "more_than_none_usd", "hours_saved", "valued_hours_saved"}
    of_member = {"wanted", "booked", "moved", "flown", "cancelled", "booked_out_share", "met_booked_share", "hours",
                 "days_held", "weekend_days_share", "paid_usd", "buy_in_usd", "owning_usd", "all_in_usd"} | against_none
    for one in found["candidates"]:
        assert set(one) == {"name", "sizes", "members", "fund", "fairness", "rules", "weekends", "leave_earlier",
                            "insurance", "best_size", "best_size_for_written", "leaving", "into_the_fund_usd",
                            "together"}
        assert all(set(row) == measured | {"members", "refused"} for row in one["sizes"])
        assert all(set(row) == of_member | {"name", "refused", "paid_of", "paid_under", "equity_share",
                                         "into_fund_at_start_usd", "insurance", "equals_not_owning_usd_per_h"}
                   for row in one["members"])
        assert set(one["together"]) == against_none | {"equals_not_owning_usd_per_h"}
        assert set(one["together"]["equals_not_owning_usd_per_h"]) == {"at", "low", "high"}
        for row in (*one["sizes"], *one["members"], one["together"]):
            assert all(set(row[name]) == {"mean", "low", "high"} for name in (measured | of_member) & set(row))
        member = one["members"][0]
        assert set(member["paid_of"]) == {"dues_usd", "hourly_usd", "daily_usd", "own_usd"}
        assert set(member["paid_under"]) == {"by_hours", "by_days_held", "by_calendar", "half_and_half"}
        assert set(one["fund"]) == {"years", "dues_usd_per_month", "hourly_usd", "daily_usd", "rate_per",
                                    "break_even_rate_usd", "deductible",
                                    "break_even_confidence_share", "assessment_chance", "assessment_usd",
                                    "assessments", "balance_by_year"}
        assert set(one["fairness"]) == {"booked_out_range_share", "booked_out_spread_share"}
        assert set(one["rules"]) == {"first_come", "first_come_with_cap", "rotating_week"}
        assert all(set(rule) == {"booked_out_share", "members", "fairness"} for rule in one["rules"].values())
        assert all(set(row) == {"members", "met_booked_share", "lost_share", "held_share", "formula_share",
                                "usual_met_share", "usual_lost_share"} for row in one["weekends"])
        assert all(set(row) == {"lead_h", "goes_share"} for row in one["leave_earlier"])
        assert set(one["insurance"]) == {"insurable", "why", "premium_usd", "dual_h"}
        assert set(member["insurance"]) == set(one["insurance"]) | {"rating", "premium_without_usd"}
        assert set(one["fund"]["deductible"]) == {"usd", "paid_by", "claims_a_year"}
        assert set(one["best_size"]) == set(one["best_size_for_written"]) == {
            "members", "net_cost_per_member_usd", "difference_usd", "level_with", "than_written_usd"}
        assert all(set(row) == {"member", "after_years", "exit_usd", "of_it_fund_usd", "others_pay_usd",
                                "dues_usd_per_month", "weeks_to_sell", "dues_until_sold_usd"} for row in one["leaving"])


def test_the_best_size_is_the_cheapest_and_says_which_may_be_as_good():
    # Pairs of years: three against two costs 100 more each time; four 10 less in one year and 30 more in the other.
    found = best_size({2: np.array([500.0, 700.0]), 3: np.array([600.0, 800.0]), 4: np.array([490.0, 730.0])}, 4)
    assert found["members"] == 2
    assert found["net_cost_per_member_usd"] == {2: 600.0, 3: 700.0, 4: 610.0}
    assert found["difference_usd"][3]["mean"] == 100.0
    assert found["level_with"] == [4]
    assert {n: m["mean"] for n, m in found["than_written_usd"].items()} == {2: -10.0, 3: 90.0}


def test_a_member_with_another_rating_is_told_with_what_insuring_costs(result):
    """The crop adviser, without an instrument rating and with the fewest hours, is whom the insurer prices."""
    c = result.candidates[0]
    adviser, rest = c.members[1]["insurance"], [c.members[i]["insurance"] for i in (0, 2, 3)]
    assert adviser["rating"] == "visual"
    assert all(adviser["premium_usd"] > other["premium_usd"] for other in rest)
    assert adviser["premium_without_usd"] < min(other["premium_without_usd"] for other in rest)


def test_five_and_more_are_insured_as_a_club(sums):
    """The premium rises by the factor of a partner up to four; from five on it is that of a club, of eight too."""
    insurance = {n: own["cash_cents"][:, CODE[Category.INSURANCE]].mean() for n, own in sums.sizes.items()}
    assert insurance[5] == pytest.approx(insurance[8])
    assert insurance[5] / insurance[4] == pytest.approx(1.5 / 1.08 ** 3, rel=1e-4)


def test_the_answer_says_first_how_many_members_are_cheapest(result):
    c = result.candidates[0]
    best = c.best_size_for_written["members"]
    row = next(r for r in c.sizes if r["members"] == best)
    page = partners_page(result)
    first = page.sentences[0]
    assert first.startswith(f"{best} members would be cheapest for your 4 members")
    assert dollars(row["written_net_cost_per_member_usd"]["mean"]) in first
    assert f"{number(row['written_lost']['mean'])} lost to others" in first
    assert "3 would be" in page.sentences[1]
    assert "5 would be" in page.sentences[1]
    assert any("like vet" in text for text in page.sentences)


def test_as_written_a_member_costs_the_same_whoever_is_counted(result):
    for c in result.candidates:
        row = next(r for r in c.sizes if r["members"] == 4)
        for name in ("cost_per_member_usd", "net_cost_per_member_usd"):
            for each in ("mean", "low", "high"):
                assert row[f"written_{name}"][each] == pytest.approx(row[name][each], abs=0.05)
        assert row["written_booked_out_share"] == pytest.approx(row["booked_out_share"])
        assert row["written_hours"]["mean"] == pytest.approx(row["flight_hours"]["mean"] / 4)


def test_the_rate_at_which_the_fund_holds_has_its_interval_or_says_why_not(result):
    few = [replace(c, fund=c.fund | {"break_even_rate_usd": {"mean": 300.4, "low": None, "high": None}})
           for c in result.candidates]
    (said,) = fund_holds(replace(result, candidates=tuple(few)))
    assert "confidence at about 300 dollars" in said
    assert said.endswith("too few to say between which rates that lies.")
    many = [replace(c, fund=c.fund | {"break_even_rate_usd": {"mean": 300.4, "low": 250.0, "high": 421.0}})
            for c in result.candidates]
    assert "confidence at 300 (250 to 421) dollars" in fund_holds(replace(result, candidates=tuple(many)))[0]


def test_the_members_table_ends_with_the_headline(result):
    """All that members bear, the fund's lack in it, by their number: the cost of a member in the answer."""
    c = result.candidates[0]
    capital = next(t for s in partners_page(result).sections for t in s.tables if "capital" in t.caption)
    label, *_, lack, each = capital.rows[-1]
    row = next(r for r in c.sizes if r["members"] == 4)
    assert label == "each"
    assert each == dollars(row["cost_per_member_usd"]["mean"], 10.0)
    assert lack == dollars(-c.into_the_fund_usd["mean"] / 4.0, 10.0)
    short = next(t for t in partners_page(result).terminal if "the members" in t.caption)
    assert [r[-2:] for r in short.rows] == [r[-2:] for r in capital.rows]
    assert [r[0] for r in short.rows] == [m["name"] for m in c.members] + ["together", "each"]
    assert "in all: what each pays, the equity's part, and a part of what the fund lacks" in short.caption


def test_each_member_bears_a_part_of_what_the_fund_lacks(study, result):
    for c in result.candidates:
        for m in c.members:
            assert m["of_shortfall_usd"]["mean"] == pytest.approx(-c.into_the_fund_usd["mean"] / 4.0)
            assert m["bears_usd"]["mean"] == pytest.approx(m["all_in_usd"]["mean"] + m["of_shortfall_usd"]["mean"])
    # Two years that lack 700 and 100 dollars are asked of all alike; 800 that gather belong by halves and tenths.
    shares = (0.5, 0.3, 0.1, 0.1)
    members = tuple(replace(m, spec=m.spec.model_copy(update={"equity_share": e}))
                    for m, e in zip(study.members, shares, strict=True))
    unequal = replace(study, members=members)
    assert shortfall_usd(unequal, np.array([-700.0, -100.0])).tolist() == [[175.0] * 4, [25.0] * 4]
    assert shortfall_usd(unequal, np.array([800.0]))[0] == pytest.approx([-400.0, -240.0, -80.0, -80.0])


def test_one_way_of_sharing_pays_for_everything_and_leaves_the_group_s_cost_alone(tmp_path, result):
    for by in ("hours", "days_held", "equally"):
        told = partners(prepare_partners(study_of(tmp_path, f"members: {{sizes: [4], sharing: {{by: {by}}}}}\n")), 4)
        c = told.candidates[0]
        paid = [m["paid_usd"]["mean"] - m["paid_of"]["own_usd"]["mean"] for m in c.members]
        shares = [1.0 if by == "equally" else m[by]["mean"] for m in c.members]
        assert np.array(paid) / sum(paid) == pytest.approx(np.array(shares) / sum(shares), rel=1e-4)
        assert c.sizes[0]["cost_per_member_usd"] == result.candidates[0].sizes[3]["cost_per_member_usd"]


def test_dues_beside_another_way_of_sharing_are_a_fault(tmp_path):
    with pytest.raises(InputError, match="with `by: dues_and_hours` alone"):
        study_of(tmp_path, "members: {sharing: {by: hours, hourly_usd: 100}}\n")
