"""A study's own members in groups of other sizes: shares of a year's cost by hand, and the same trips in every size."""

from __future__ import annotations

from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.money.categories import CATEGORIES, CODE, Category
from missionsim.money.cost_sharing import Deductible
from missionsim.report.partners_page import partners_csv, partners_page
from missionsim.report.partners_sizes import as_written, cheapest, neighbours
from missionsim.report.wording import dollars, number, percent
from missionsim.study.inputs.load_study import load_study
from missionsim.study.inputs.schema_sharing import Sharing
from missionsim.study.shared_use.as_written import Borne, WrittenIn, borne, of_written
from missionsim.study.shared_use.equity import best_size
from missionsim.study.shared_use.fund import agreement_of
from missionsim.study.shared_use.owned import draws_of, owned_by_group
from missionsim.study.shared_use.partner_results import SizeCosts, partners
from missionsim.study.shared_use.partners import prepare_partners, taking_part

PROFILES = Path(__file__).parents[3] / "profiles"
TWO = (f"study: two\nhome: KGRI\nyear: 2025\nseed: 7\nvalue_of_time_usd_per_h: 40\n"
       f"candidates: [{PROFILES}/aircraft/retractable_260.yaml]\nassumptions: {{sharing.demand_years: 2}}\n"
       "pilot: {rating: instrument, night: true, total_h: 700, retractable_h: 120, type_h: 30, age: 48}\n"
       "members: {sizes: [1, 3, 4], people: [{name: often, demand: [{to: KOMA, per_year: 24}]}, "
       "{name: seldom, typical: true, demand: [{to: KLNK, per_year: 4}]}]}\n")


@pytest.fixture(scope="module")
def result(tmp_path_factory):
    file = tmp_path_factory.mktemp("written") / "two.yaml"
    file.write_text(TWO, encoding="utf-8")
    return partners(prepare_partners(load_study(file)), 6)


def year_of(**usd):
    """One year of an ownership, dollars by category."""
    cents = np.zeros((1, len(CATEGORIES)), dtype=np.int64)
    for name, value in usd.items():
        cents[0, CODE[Category(name)]] = 100 * value
    return SimpleNamespace(year_cents=cents)


def person(**more):
    """Two people of one year: 1 and 2 hours, 3 days and 1, fees of 20 and 40 dollars, training of 200 each."""
    values = {"wanted": [5, 4], "flown": [4, 4], "lost": [1, 0], "flight_hours": [1.0, 2.0], "days_held": [3, 1],
              "own_cents": [22_000, 24_000], "training_cents": [20_000, 20_000], "other_usd": [70, 0],
              "lost_usd": [30, 0], "valued_h": [2.5, 6.0]} | more
    return {name: np.array([column], dtype=float) for name, column in values.items()}


OWNED = year_of(hangar=1_200, training=200, fuel=900, landing=60, purchase=2_600, engine_overhaul=300, tax=400,
                substitute=5_000, time=7_000)
CLAIMS = Deductible(1_000.0, 0.01, 0.1, by_flyer=False)    # 100 dollars parked, 10 and 20 of hours


def cost(deductible=CLAIMS, own=None, **sharing):
    return borne(own or person(), OWNED, Sharing(**sharing), deductible, 0.0).cost_usd[0].tolist()


def test_each_bears_equal_parts_of_what_is_fixed_and_of_the_rest_by_hours():
    # Equal parts: 3,000 of purchase and tax, 1,200 of hangar. By hours: fuel 900, overhaul 300, claims 130: 1,330.
    assert cost() == pytest.approx([1_500 + 600 + 1_330 / 3 + 20 + 200, 1_500 + 600 + 2 * 1_330 / 3 + 40 + 200])
    # The flyer pays after damage in flight: only 100 dollars parked are left to share.
    by_flyer = Deductible(1_000.0, 0.01, 0.1, by_flyer=True)
    assert cost(by_flyer) == pytest.approx([2_100 + 1_300 / 3 + 10 + 220, 2_100 + 2_600 / 3 + 20 + 240])


def test_each_bears_as_the_group_agreed():
    whole = 1_200 + 1_330                                   # the purchase stays in equal parts, fees and training own
    assert cost(by="hours") == pytest.approx([1_500 + whole / 3 + 220, 1_500 + 2 * whole / 3 + 240])
    assert cost(by="days_held") == pytest.approx([1_500 + 3 * whole / 4 + 220, 1_500 + whole / 4 + 240])
    assert cost(by="equally") == pytest.approx([1_500 + whole / 2 + 220, 1_500 + whole / 2 + 240])
    # Own fuel, 480 dollars each of the 960 that fuel and fees came to; 430 are left to share by hours.
    dry = cost(own=person(own_cents=[68_000, 68_000]), hourly="dry")
    assert dry == pytest.approx([2_100 + 430 / 3 + 480 + 200, 2_100 + 860 / 3 + 480 + 200])


def test_a_year_in_which_nobody_flies_is_shared_alike():
    still = person(flight_hours=[0, 0], days_held=[0, 0], own_cents=[20_000, 20_000])
    assert cost(own=still, by="hours") == pytest.approx([(3_000 + 1_200 + 1_300 + 60) / 2 + 200] * 2)


def test_with_every_trip_done_other_ways_and_hours_are_added():
    found = borne(person(), OWNED, Sharing(), CLAIMS, 40.0)
    assert (found.net_usd - found.cost_usd)[0].tolist() == pytest.approx([70 + 30 + 100, 240])


def test_a_smaller_group_by_turns_is_held_against_the_same_members_of_the_same_years():
    alone, two = np.array([[150.0], [600.0]]), np.array([[100.0, 300.0], [200.0, 400.0]])
    # 200 of both and 50 more of the first; then 300 of both and 200 more of the second.
    assert of_written(alone, two, np.array([[0], [1]])).tolist() == [250.0, 500.0]
    # What differs between the members alone is no difference of sizes: each as in the group as written.
    same = np.take_along_axis(two, np.array([[1], [0]]), axis=1)
    assert of_written(same, two, np.array([[1], [0]])).tolist() == [200.0, 300.0]


def test_whoever_is_added_does_not_count():
    four = np.array([[90.0, 250.0, 1.0, 1.0]])
    assert of_written(four, np.array([[100.0, 300.0]]), np.array([[0, 1, 2, 3]])).tolist() == [170.0]


def test_the_parts_of_all_are_the_cost_of_the_group(result):
    """By person it comes from shares, by size from the ledger's sums: the same money, in every year and size."""
    study, sums = result.study, result.candidates[0].sums
    entrant = result.use.group.alike[0].prepared.entrants[0]
    agreed = agreement_of(study, sums.members)
    for n, own in sums.people.items():
        if n == 2:
            continue                                        # as written, which is not among the sizes asked for
        owned = owned_by_group(entrant, sums.sizes[n]["cash_cents"], sums.sizes[n]["flight_hours"],
                               draws_of(entrant, 6))
        together = SizeCosts(n, sums.sizes[n], owned, agreed).together_usd
        found = borne(own, owned, agreed.sharing, agreed.deductible, 40.0)
        assert found.cost_usd.sum(axis=1) == pytest.approx(together, abs=0.05)
        for name in ("wanted", "flown", "lost", "flight_hours"):
            assert own[name].sum(axis=1) == pytest.approx(sums.sizes[n][name]), (n, name)


def test_the_same_trips_in_every_size_though_added_members_want_fewer(result):
    c, people = result.candidates[0], result.candidates[0].sums.people
    assert sorted(people) == [1, 2, 3, 4]
    for n, own in people.items():
        for r in range(6):
            for k, p in enumerate(taking_part(n, 2, r)):
                if p < 2:
                    assert own["wanted"][r, k] == people[2]["wanted"][r, p]
    wanted = [row["written_wanted"]["mean"] for row in c.sizes]
    assert wanted == pytest.approx([sum(m["wanted"]["mean"] for m in c.members) / 2] * 3)
    four = c.sizes[-1]
    assert four["wanted"]["mean"] / 4 < 0.8 * wanted[0]
    # Whom the mean over all makes look cheap: those added fly little and pay as much of what is fixed.
    assert four["written_cost_per_member_usd"]["mean"] > four["cost_per_member_usd"]["mean"] + 100.0


def test_a_group_as_written_that_is_no_size_asked_for_is_still_what_sizes_are_held_against(result):
    c = result.candidates[0]
    assert set(c.best_size_for_written["than_written_usd"]) == {1, 3, 4}
    assert c.best_size["than_written_usd"] == {}
    for row in c.sizes:
        than = c.best_size_for_written["than_written_usd"][row["members"]]["mean"]
        net = row["written_net_cost_per_member_usd"]["mean"]
        assert than == pytest.approx(net - c.together["net_cost_usd"]["mean"] / 2, abs=0.1)
        none = net - row["written_more_than_none_usd"]["mean"]
        assert none == pytest.approx(c.together["none_net_cost_usd"]["mean"] / 2)


def test_the_best_of_them_is_paired_with_the_group_as_written():
    nets = {1: np.array([500.0, 900.0]), 3: np.array([300.0, 500.0])}
    found = best_size(nets, 2, np.array([350.0, 560.0]))
    assert found["members"] == 3
    assert {n: m["mean"] for n, m in found["than_written_usd"].items()} == {1: 245.0, 3: -55.0}


def told(sizes, best, level=(), **than):
    rows = tuple({"members": n, "written_net_cost_per_member_usd": {"mean": 1_000.0 * n, "low": None, "high": None},
                  "written_wanted": {"mean": 20.0}, "written_flown": {"mean": 15.25}, "written_lost": {"mean": 2.5}}
                 for n in sizes)
    return SimpleNamespace(name="low wing", sizes=rows, best_size_for_written={
        "members": best, "level_with": list(level),
        "than_written_usd": {int(n[1:]): dict(zip(("mean", "low", "high"), m, strict=True)) for n, m in than.items()}})


def test_the_cheapest_size_is_told_with_its_trips_and_where_it_is_the_edge():
    lead = told([1, 2, 4], 2, [4])
    said = cheapest(lead, 3, lead)
    assert said == ("2 members would be cheapest for your 3 members with the low wing: a year with every trip done "
                    "costs each 2,000 dollars. Of 20.0 trips each wants, 15.2 are flown and 2.5 lost to others' "
                    "reservations. 4 may be as cheap.")
    largest, smallest = told([1, 2, 4], 4), told([2, 4], 2)
    assert "No larger group was looked at: one may be cheaper still." in cheapest(largest, 3, lead)
    assert "No smaller group was looked at: one may be cheaper still." in cheapest(smallest, 3, largest)
    assert "looked at" not in cheapest(told([1, 2, 4], 1), 3, lead)     # there is no smaller group than one alone
    assert "looked at" not in cheapest(told([1, 2, 4], 4), 3, largest)  # said already


def test_the_sizes_next_to_the_group_as_written_are_told_paired():
    c = told([1, 2, 5, 8], 8, n1=(9_000, 8_000, 9_900), n2=(2_000, 1_500, 2_500), n5=(-1_200, -1_500, -900),
             n8=(-4_000, -5_000, -3_000))
    assert neighbours(c, 3) == (" 2 would be dearer by 2,000 (1,500 to 2,500) and 5 would be cheaper by 1,200 (900 to "
                                "1,500) dollars a member.")
    chance = told([3, 4], 3, n4=(-100, -400, 200))
    assert neighbours(chance, 3) == " 4 would be cheaper by 100 (−200 to 400), which may be chance, dollars a member."
    assert neighbours(told([3], 3), 3) == ""


def test_trips_of_the_group_as_written_are_those_of_one_member():
    members = ({"wanted": {"mean": 10.0}, "flown": {"mean": 9.0}, "booked_out_share": {"mean": 0.1}},
               {"wanted": {"mean": 30.0}, "flown": {"mean": 20.0}, "booked_out_share": {"mean": 0.2}},
               {"wanted": {"mean": 0.0}, "flown": {"mean": 0.0}, "booked_out_share": {"mean": None}})
    # 29 flown, 1 and 6 lost, by three.
    assert as_written(SimpleNamespace(members=members)) == "With 3 as written, 9.7 are flown and 2.3 lost."


def test_page_and_terminal_compare_the_members_as_written(result):
    page, c = partners_page(result), result.candidates[0]
    short = next(t for t in page.terminal if "by size of the group" in t.caption)
    for cells, row in zip(short.rows, c.sizes, strict=True):
        assert cells[1:3] == (dollars(row["written_cost_per_member_usd"]["mean"]),
                              dollars(row["written_net_cost_per_member_usd"]["mean"]))
        assert cells[4] == percent(row["written_booked_out_share"]["mean"])
    section = next(s for s in page.sections if s.anchor == "sizes")
    own, whole = section.tables
    assert {row[5] for row in own.rows} == {number(c.sizes[0]["written_wanted"]["mean"])}
    assert [row[3] for row in whole.rows] == [number(row["wanted"]["mean"], 0) for row in c.sizes]
    assert all(len(row) == len(t.head) for t in (short, own, whole) for row in t.rows)
    header = partners_csv(result)["summary.csv"].splitlines()[0].split(",")
    assert {"written_cost_per_member_usd.mean", "written_more_than_none_usd.low"} <= set(header)


def test_all_that_is_told_of_them_follows_the_group():
    whole = Borne(*(np.array([[float(i), 2.0 * i]]) for i in range(1, 7)))
    alone = Borne(*(np.array([[10.0 * i]]) for i in range(1, 7)))
    found = WrittenIn.of(alone, whole, np.array([[1]]))
    # The mean 1.5 i, and 10 i for the second's 2 i: 9.5 i. Of 30 trips wanted 40 flown and 50 lost: of 4.5, 6 and 7.5.
    assert [getattr(found, name)[0] for name in ("cost_usd", "net_usd", "wanted", "hours")] == [9.5, 19, 28.5, 57]
    assert (found.flown[0], found.lost[0]) == pytest.approx((6.0, 7.5))
    same = WrittenIn.of(whole, whole, np.array([[0, 1]]))
    assert [getattr(same, name)[0] for name in WrittenIn.__dataclass_fields__] == [1.5 * i for i in range(1, 7)]


def test_of_smaller_groups_as_many_trips_are_lost_as_by_turns(result):
    for row in result.candidates[0].sizes[:1]:
        for name in ("booked_out_share", "flown_share"):
            assert row[f"written_{name}"]["mean"] == pytest.approx(row[name]["mean"])
        share = row["written_lost"]["mean"] / row["written_wanted"]["mean"]
        assert share == pytest.approx(row["written_booked_out_share"]["mean"])
