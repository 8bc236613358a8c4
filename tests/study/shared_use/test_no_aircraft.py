"""A share held against having no aircraft: two members' trips by hand, identities, and the words that tell it."""

from __future__ import annotations

from dataclasses import replace
from math import asin, ceil, cos, radians, sin, sqrt
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.report.partners_page import partners_csv, partners_object, partners_page
from missionsim.report.partners_without import against_none_words, hours_told, less
from missionsim.report.wording import dollars
from missionsim.study.compare.alternatives import NONE, alternatives
from missionsim.study.compare.compare import flown_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.trip_years import BROKEN_OFF, COMPLETED, REFUSED, TripYears
from missionsim.study.shared_use.no_aircraft import against_none, equals_not_owning
from missionsim.study.shared_use.partner_results import partners
from missionsim.study.shared_use.partners import prepare_partners
from missionsim.study.shared_use.sums import travel_sums

PROFILES = Path(__file__).parents[3] / "profiles"
HEAD = "date,time,from,to,return,return_time,adults,children,optional_value_usd,purpose\n"
ANNS = ("2025-03-05,08:00,KGRI,KLNK,,17:00,2,0,,sales call\n"
        "2025-08-13,09:00,KGRI,KSLN,2025-08-14,16:00,1,0,,show\n")
BENS = ("2025-05-21,08:00,KGRI,KOMA,,18:00,2,2,,family\n"
        "2025-10-08,09:00,KGRI,KLNK,,15:00,1,0,12,lunch\n")
SAME = (f"home: KGRI\nyear: 2025\nseed: 7\ntrips_are: logbook\nlocal_hours_per_year: 0\nvalue_of_time_usd_per_h: 40\n"
        f"candidates: [{PROFILES}/aircraft/retractable_260.yaml]\n"
        "pilot: {rating: instrument, night: true, total_h: 700, retractable_h: 120, type_h: 30, age: 48}\n")


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    found = tmp_path_factory.mktemp("none")
    for name, rows in (("ann", ANNS), ("ben", BENS), ("both", ANNS + BENS)):
        (found / f"{name}.csv").write_text(HEAD + rows, encoding="utf-8")
    (found / "shared.yaml").write_text(
        "study: two members\n" + SAME + "members: {sizes: [2, 3], people: [{name: ann, trips: ann.csv, "
        "cancel_share: 0}, {name: ben, trips: ben.csv, cancel_share: 0}]}\n", encoding="utf-8")
    (found / "alone.yaml").write_text("study: both alone\n" + SAME + "trips: both.csv\n", encoding="utf-8")
    return found


@pytest.fixture(scope="module")
def result(folder):
    return partners(prepare_partners(load_study(folder / "shared.yaml")), 6)


def road_sm(study, *idents):
    """Miles there and back by road in the plains, 1.2 times the great circle's."""
    a, b = (study.airports.find(ident) for ident in idents)
    la, lb = radians(a.latitude_deg), radians(b.latitude_deg)
    h = sin((lb - la) / 2) ** 2 + cos(la) * cos(lb) * sin(radians(b.longitude_deg - a.longitude_deg) / 2) ** 2
    return 2.0 * 1.2 * 2.0 * 3440.065 * asin(sqrt(h)) * 1.150779


def test_two_members_by_car_are_worked_out_by_hand(result):
    """0.70 dollars a mile, 48 kt on the road, an hour of an adult at 40 dollars and of a child at 0.4 of it.

    All four places lie within four hours' drive, where an airline's five hours a way and its fare lose.
    """
    study = result.study
    a = study.assumptions
    assert [a[f"cost.{name}"] for name in ("car_usd_per_sm", "car_speed_kt", "car_h_per_day", "car_seats")] == [
        0.70, 48.0, 10.0, 5]
    assert a["time.child_weight"] == 0.4

    def by_car(to, travellers):
        sm = road_sm(study, "KGRI", to)
        hours = sm / 1.150779 / 48.0
        assert ceil(hours / 2.0 / 10.0) == 1
        return 0.70 * sm, 40.0 * travellers * hours

    lincoln, salina, omaha, lunch = by_car("KLNK", 2.0), by_car("KSLN", 1.0), by_car("KOMA", 2.8), by_car("KLNK", 1.0)
    assert sum(lunch) > 12.0                     # worth less than its way: ben stays at home, and has lost that worth
    ann, ben = result.candidates[0].members
    assert ann["none_car_and_airline_usd"]["mean"] == pytest.approx(lincoln[0] + salina[0], rel=2e-3)
    assert ann["none_time_usd"]["mean"] == pytest.approx(lincoln[1] + salina[1], rel=2e-3)
    assert ann["none_given_up_usd"]["mean"] == 0.0
    assert ben["none_car_and_airline_usd"]["mean"] == pytest.approx(omaha[0], rel=2e-3)
    assert ben["none_time_usd"]["mean"] == pytest.approx(omaha[1], rel=2e-3)
    assert ben["none_given_up_usd"]["mean"] == pytest.approx(12.0)
    for m in (ann, ben):                         # the same trips every year: without an aircraft no year differs
        assert m["none_net_cost_usd"]["low"] == pytest.approx(m["none_net_cost_usd"]["high"], rel=1e-9)


def test_no_aircraft_is_that_of_compare_with_the_same_trips(result, folder):
    prepared = prepare(load_study(folder / "alone.yaml"))
    tallies = flown_tallies(prepared, 6)
    none = alternatives(tallies, None, 0, prepared.study.assumptions).of(NONE)
    together = result.candidates[0].together
    assert together["none_net_cost_usd"]["mean"] == pytest.approx(none.net_usd.mean(), abs=0.01)
    assert together["none_car_and_airline_usd"]["mean"] == pytest.approx(none.travel_usd.mean(), abs=0.01)
    assert together["none_given_up_usd"]["mean"] == pytest.approx(none.given_up_usd.mean(), abs=0.01)
    assert none.net_usd.mean() > 200.0


def test_members_add_up_to_all_together(result):
    c = result.candidates[0]
    for name in set(c.together) - {"equals_not_owning_usd_per_h"}:
        assert sum(m[name]["mean"] for m in c.members) == pytest.approx(c.together[name]["mean"], abs=1e-6), name
    for row in (c.together, *c.members):
        for kind in ("", "none_"):
            parts = [f"{kind}{name}" for name in ("car_and_airline_usd", "given_up_usd", "time_usd")]
            whole = sum(row[name]["mean"] for name in parts) + (0.0 if kind else row["bears_usd"]["mean"])
            assert row[f"{kind}net_cost_usd"]["mean"] == pytest.approx(whole)


def test_all_together_are_the_sizes_row_of_the_group_as_written(result):
    """What the share costs with all trips done comes from trips; the table of sizes has it from the ledger's cents."""
    c = result.candidates[0]
    row = next(r for r in c.sizes if r["members"] == 2)
    assert c.together["bears_usd"]["mean"] == pytest.approx(2.0 * row["cost_per_member_usd"]["mean"], abs=0.05)
    assert c.together["net_cost_usd"]["mean"] == pytest.approx(2.0 * row["net_cost_per_member_usd"]["mean"], abs=0.2)
    assert c.together["none_net_cost_usd"]["mean"] == pytest.approx(2.0 * row["none_net_cost_per_member_usd"]["mean"])
    assert c.together["more_than_none_usd"]["low"] == pytest.approx(2.0 * row["more_than_none_per_member_usd"]["low"],
                                                                    abs=0.2)


def made_of(**columns):
    """Four trips of one year: flown by 2, refused with 1 on board, broken off with 3, and optional and refused."""
    zero = np.zeros(4, dtype=np.float32)
    values = dict.fromkeys(TripYears.__dataclass_fields__, zero)
    values |= {"replication": np.zeros(4, dtype=np.int64), "trip": np.array([0, 2, 3, 5]),
               "outcome": np.array([COMPLETED, REFUSED, BROKEN_OFF, REFUSED], dtype=np.uint8)}
    values |= {name: np.array(column, dtype=np.float32) for name, column in columns.items()}
    values["given_up"] = np.array([False, False, False, True])
    return TripYears(**values)


def test_trips_are_summed_by_whose_they_are():
    """Rows of a shared schedule of six; the first and third are the first member's, and two rows nobody wanted."""
    made = made_of(
        people=[2, 1, 3, 2], weight_flown=[1.5, 0.5, 2.5, 1.5], weight_otherwise=[2, 1, 3, 2],
        flown_h=[4, 0, 5, 0], car_h=[0, 6, 3, 0], car_usd=[0, 90, 50, 0], airline_usd=[0, 0, 20, 0],
        lost_usd=[0, 0, 0, 150], other_h=[7, 6, 9, 8], other_usd=[200, 90, 140, 400],
        other_value_usd=[np.nan, np.nan, np.nan, 150])
    found = travel_sums(made, np.array([0, -1, 1, 0, -1, 1]), 2)
    # First: 4 h of two and 8 h of three. Flown hours count the pilot half: 4 x 1.5 + 5 x 2.5 + 3 x 3 = 27.5.
    assert found["other_usd"].tolist() == [70.0, 90.0]
    assert found["lost_usd"].tolist() == [0.0, 150.0]
    assert found["valued_h"].tolist() == [27.5, 6.0]
    assert found["none_usd"].tolist() == [340.0, 90.0]
    assert found["none_lost_usd"].tolist() == [0.0, 150.0]
    assert found["none_valued_h"].tolist() == [7 * 2 + 9 * 3, 6.0]
    # By the two ways 7 x 2 + 9 x 3 and 4 x 2 + 8 x 3 hours; the second member's one trip is the same drive.
    assert found["saved_h"].tolist() == [9.0, 0.0]
    assert found["saved_valued_h"].tolist() == [13.5, 0.0]


def test_a_trip_given_up_where_there_is_no_aircraft_saves_nobody_hours():
    made = made_of(people=[2, 1, 1, 1], flown_h=[4, 4, 4, 0], weight_flown=[1, 1, 1, 1], other_h=[9, 6, 6, 6],
                   weight_otherwise=[2, 1, 1, 1], other_value_usd=[30, np.nan, np.nan, np.nan])
    assert travel_sums(made, np.zeros(6, dtype=np.int64), 1)["saved_h"].tolist() == [4.0]


def test_both_sums_hold_all_trips_and_the_worth_of_an_hour_makes_them_equal():
    # Two years: the share 1,000 and 1,200 dollars more before hours; it saves 10 hours as valued in each.
    travel = {"other_usd": np.array([100.0, 300.0]), "lost_usd": np.array([0.0, 50.0]),
              "valued_h": np.array([30.0, 32.0]), "none_usd": np.array([600.0, 650.0]), "none_lost_usd": np.zeros(2),
              "none_valued_h": np.array([40.0, 42.0]), "saved_h": np.array([8.0, 12.0]),
              "saved_valued_h": np.array([10.0, 10.0])}
    found = against_none(np.array([1_500.0, 1_500.0]), travel, 20.0)
    assert found["net_cost_usd"]["mean"] == pytest.approx(1_725.0 + 0.25 * 1_000.0 + 620.0 - 250.0)
    assert found["none_net_cost_usd"]["mean"] == pytest.approx(625.0 + 820.0)
    assert found["more_than_none_usd"]["mean"] == pytest.approx(1_100.0 - 200.0)
    assert found["hours_saved"]["mean"] == 10.0
    assert found["equals_not_owning_usd_per_h"]["at"] == pytest.approx(110.0)


def test_no_worth_of_an_hour_is_told_where_none_makes_both_equal():
    nothing = {"at": None, "low": None, "high": None}
    dearer = np.array([1_000.0, 1_010.0, 990.0])
    assert equals_not_owning(dearer, np.array([-10.0, -11.0, -9.0])) == nothing      # dearer, and takes hours more
    assert equals_not_owning(-dearer, np.array([10.0, 11.0, 9.0])) == nothing        # cheaper, and saves hours
    assert equals_not_owning(-dearer, np.array([-10.0, -11.0, -9.0])) == nothing     # cheaper, and takes hours more
    assert equals_not_owning(dearer, np.array([10.0, -9.0, 1.0])) == nothing         # whether it saves any is chance


def more(mean, low, high):
    return {"more_than_none_usd": {"mean": mean, "low": low, "high": high}, "net_cost_usd": {"mean": 5_000.0 + mean},
            "none_net_cost_usd": {"mean": 5_000.0}}


def test_the_answer_names_what_costs_less_and_for_whom_it_is_otherwise():
    dear, cheap, open_ = more(900.0, 700.0, 1_100.0), more(-900.0, -1_100.0, -700.0), more(100.0, -50.0, 250.0)
    assert [less(row) for row in (dear, cheap, open_, more(5.0, None, None))] == [
        "no aircraft", "the share", "cannot be told", "cannot be told"]
    both = tuple({"name": name, **dear} for name in ("ann", "ben"))
    together = {name: {key: 2.0 * value for key, value in m.items()} for name, m in dear.items()}
    told = against_none_words(SimpleNamespace(together=together, members=both))
    assert told == ("With every trip done it costs each 5,900 dollars a year; with no aircraft the same trips would "
                    "cost 5,000: no aircraft costs less, by 900 (700 to 1,100), and so it is for each of them.")
    together = {name: {key: 3.0 * value for key, value in m.items()} for name, m in cheap.items()}
    told = against_none_words(SimpleNamespace(together=together, members=(
        {"name": "ann", **dear}, {"name": "ben", **cheap}, {"name": "eve", **open_})))
    assert "the share costs less, by 900 (700 to 1,100)" in told
    assert told.endswith(" (what costs less for each: ann: no aircraft; ben: the share; eve: cannot be told).")


def hours(mean, low, high):
    return {"mean": mean, "low": low, "high": high}


def test_hours_are_told_as_they_are_and_as_they_are_valued():
    row = {"hours_saved": hours(-2.0, -4.0, 0.5), "valued_hours_saved": hours(36.0, 34.0, 38.0),
           "equals_not_owning_usd_per_h": {"at": 385.2}}
    assert hours_told(row) == ("neither clearly saves nor takes hours of all travellers together, and as they are "
                               "valued saves 36 hours: at 385 dollars an hour both would cost the same")
    row |= {"hours_saved": hours(-9.0, -11.0, -7.0), "valued_hours_saved": hours(-4.0, -5.0, -3.0),
            "equals_not_owning_usd_per_h": {"at": None}}
    assert hours_told(row) == ("takes 9 hours more of all travellers together, and as they are valued takes 4 hours "
                               "more")


def test_page_terminal_and_tables_say_what_is_compared(result):
    page, c = partners_page(result), result.candidates[0]
    section = next(s for s in page.sections if s.anchor == "no-aircraft-1")
    assert section.title == "The share or no aircraft: 260 hp retractable"
    assert "The same trips are done both ways" in section.text[0]
    assert "at 40 dollars for an adult's" in section.text[0]
    assert [text.split(":")[0] for text in section.text[1:]] == ["All together", "ann", "ben"]
    assert all("no aircraft costs less, by " in text for text in section.text[1:])
    (table,) = section.tables
    assert "the same trips all done" in table.caption
    assert all(len(row) == len(table.head) for row in table.rows)
    assert [row[0] for row in table.rows] == ["ann", "ben", "all together"]
    short = next(t for t in page.terminal if "or no aircraft" in t.caption)
    assert short.caption in table.caption
    for row, m in zip(short.rows, (*c.members, c.together), strict=True):
        assert row[1:3] == (dollars(m["net_cost_usd"]["mean"], 10.0), dollars(m["none_net_cost_usd"]["mean"], 10.0))
    assert against_none_words(c) in page.sentences[1]
    header, ann, ben = partners_csv(result)["members.csv"].splitlines()
    assert {"none_net_cost_usd.mean", "more_than_none_usd.low", "of_shortfall_usd.mean"} <= set(header.split(","))
    assert len(ann.split(",")) == len(ben.split(",")) == len(header.split(","))
    assert partners_object(result, None)["candidates"][0]["together"]["none_net_cost_usd"]["mean"] == pytest.approx(
        c.together["none_net_cost_usd"]["mean"])


def test_hours_without_a_value_leave_dollars_alone(folder, result):
    study = load_study(folder / "shared.yaml")
    spec = study.spec.model_copy(update={"value_of_time_usd_per_h": 0.0})
    plain = partners(prepare_partners(replace(study, spec=spec)), 2)
    assert plain.candidates[0].together["none_time_usd"]["mean"] == 0.0
    section = next(s for s in partners_page(plain).sections if s.anchor == "no-aircraft-1")
    assert "gives hours no value" in section.text[0]
    assert "their hours" not in section.tables[0].head
    valued = next(s for s in partners_page(result).sections if s.anchor == "no-aircraft-1")
    assert valued.tables[0].head.count("their hours") == 2
