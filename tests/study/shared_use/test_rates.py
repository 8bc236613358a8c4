"""Flying for others end to end: who pays what, what breaks even, what is missing on board, and the contract."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest

from missionsim.base.errors import InputError
from missionsim.money.hire_rates import Tariff
from missionsim.report.contract import dumps
from missionsim.report.rates_page import rates_object, rates_page
from missionsim.statistics.intervals import mean_interval
from missionsim.study.inputs.load_study import load_study
from missionsim.study.shared_use.hire import crew_pilot, missing_for, prepare_hire
from missionsim.study.shared_use.rates_results import candidate_rates, full_usd, incremental_usd, profit_usd, rates
from missionsim.study.shared_use.result import SharedResult
from missionsim.study.shared_use.years import sums_of_chunk

DEMO = Path(__file__).parents[3] / "profiles" / "studies" / "charter.yaml"


def study_of(folder, text=""):
    file = folder / "study.yaml"
    file.write_text(f"extends: {DEMO}\nassumptions: {{hire.demand_years: 2}}\n{text}", encoding="utf-8")
    return load_study(file)


def unfit(folder, text=""):
    aircraft = DEMO.parents[1] / "aircraft" / "retractable_260.yaml"
    return study_of(folder, f"candidates: [{aircraft}]\n{text}")


def finished(hire, years, sums):
    """Return the result of finished sums."""
    return SharedResult(hire, years, tuple(candidate_rates(hire, i, own) for i, own in enumerate(sums)))


@pytest.fixture(scope="module")
def hire(tmp_path_factory):
    return prepare_hire(study_of(tmp_path_factory.mktemp("rates")))


@pytest.fixture(scope="module")
def sums(hire):
    return sums_of_chunk(hire, range(6))


@pytest.fixture(scope="module")
def result(hire, sums):
    return finished(hire, 6, sums)


def test_every_request_is_flown_or_turned_away(sums):
    for t in sums:
        assert (t["asked_refused_all"] == t["asked_refused"].sum(axis=1)).all()
        assert (t["asked_completed"] + t["asked_refused_all"] <= t["asked_wanted"]).all()
        assert (t["own_wanted"] == t["alone_wanted"]).all()


def test_hours_nest(sums):
    for t in sums:
        assert (t["outside_hours"] <= t["flight_hours"] + 1e-9).all()
        assert (t["outside_empty_hours"] <= t["outside_hours"] + 1e-9).all()
        # A revenue hour is a block hour with passengers: taxi comes on top of the flight hours with passengers.
        occupied = t["outside_hours"] - t["outside_empty_hours"]
        assert (t["revenue_hours"] > occupied).all()
        assert (t["revenue_hours"] < 1.8 * occupied).all()


def test_one_way_work_flies_about_half_of_its_legs_empty(result):
    share = result.candidates[0].measures["empty_leg_share"]["mean"]
    assert 0.25 < share < 0.55


def test_incremental_break_even_fed_back_gives_no_profit(hire, sums, result):
    for c in result.candidates:
        rate = c.break_even_rate_usd["incremental"]["mean"]
        mean, low, high = mean_interval(profit_usd(c.table, hire.terms, rate))
        assert low <= 0.0 <= high
        assert mean == pytest.approx(0.0, abs=0.01)
        told = finished(replace(hire, terms=replace(hire.terms, rate_usd_per_h=rate)), 6, sums)
        assert all(other.profit_usd is not None for other in told.candidates)
        lower = profit_usd(c.table, hire.terms, 0.8 * rate).mean()
        assert lower == pytest.approx(-0.2 * incremental_usd(c.table).mean())


def test_the_full_cost_is_its_own_and_a_share_of_the_joint(hire, result):
    for c in result.candidates:
        t = c.table
        # Own trips lost stand in what is its own and in no cost of the aircraft; what is left over is joint.
        joint = t["cost_usd"] - t["for_hire_usd"] + t["lost_usd"]
        by_hand = (t["for_hire_usd"] + joint * t["outside_hours"] / t["flight_hours"]).sum() / t["billed_hours"].sum()
        assert c.break_even_rate_usd["full"]["mean"] == pytest.approx(by_hand / hire.terms.sale.kept_share)
        assert full_usd(t).sum() == pytest.approx(by_hand * t["billed_hours"].sum())
        assert c.rate_with_margin_usd["full"]["mean"] == pytest.approx(c.break_even_rate_usd["full"]["mean"] / 0.9)
        assert (t["for_hire_usd"] >= t["crew_usd"] + hire.terms.conformity_usd_per_year).all()


def test_an_outside_hour_in_full_is_never_cheaper_than_incremental(result, tmp_path):
    lease = prepare_hire(unfit(tmp_path, "operation: rental_leaseback\noutside: {crew: {usd_per_day: null}}\n"))
    leased = finished(lease, 3, sums_of_chunk(lease, range(3)))
    for c in (*result.candidates, *leased.candidates):
        assert c.break_even_rate_usd["full"]["mean"] >= c.break_even_rate_usd["incremental"]["mean"]


def test_the_calendar_is_charged_in_full_at_the_fewest_hours_for_a_leaseback_too(tmp_path):
    """Overhauled in 2015, bought in 2025: due by the calendar in the third year, however little is flown.

    A quote 30,000 dollars dearer, which rises as the money earns, is 30,000 of today: over five years at 1.94 % real,
    by the hours of a year. What comes back of an overhaul goes by the hours it spares, not by its price.
    """
    real = 1.05 / 1.03 - 1.0
    by_hand = 30_000.0 * real / (1.0 - (1.0 + real) ** -5)
    aircraft = DEMO.parents[1] / "aircraft" / "retractable_260.yaml"
    curves = []
    for usd in (60_000, 90_000):
        changes = f"{{engine.hours_since_overhaul_h: 200, engine.overhaul_year: 2015, engine.overhaul_usd: {usd}}}"
        lease = prepare_hire(study_of(tmp_path, f"operation: rental_leaseback\n"
                                      f"candidates: [{{aircraft: {aircraft}, changes: {changes}}}]\n"
                                      "outside: {crew: {usd_per_day: null}}\n"))
        (found,) = finished(lease, 2, sums_of_chunk(lease, range(2))).candidates
        curves.append({row["hours"]: row["mean"] for row in found.full_cost_per_hour_usd})
    for hours in (50, 100):
        assert (curves[1][hours] - curves[0][hours]) * hours == pytest.approx(by_hand, abs=0.1)


def test_what_is_quoted_besides_the_rate_is_billed(hire, sums):
    """By the study's terms hours billed are block hours with passengers, and nothing is billed besides."""
    t = sums[0]
    assert t["billed_hours"] == pytest.approx(t["revenue_hours"])
    assert not t["surcharge_usd"].any()
    assert not t["passed_on_usd"].any()
    more = Tariff(daily_minimum_h=3.0, waiting_usd_per_h=20.0, positioning_billed=True, fuel_surcharge_usd_per_h=15.0,
                 fees_passed_on=True, dry=True, by_meter=True)
    told = sums_of_chunk(replace(hire, terms=replace(hire.terms, quote=more)), range(2))[0]
    assert (told["billed_hours"] >= 0.87 * told["outside_hours"] - 1e-6).all()      # empty legs too, by the meter
    assert (told["surcharge_usd"] > 15.0 * told["billed_hours"]).all()              # and the hours it waits
    assert (told["passed_on_usd"] > 6.0 * 8.0 * told["outside_hours"]).all()        # over 8 gal an hour at 6 dollars
    flown = replace(hire, terms=replace(hire.terms, quote=more, rate_usd_per_h=400.0))
    (c, _) = finished(flown, 2, [told] * 2).candidates
    by_hand = 0.82 * (400.0 * told["billed_hours"] + told["surcharge_usd"]) + told["passed_on_usd"]
    assert profit_usd(c.table, flown.terms, 400.0) == pytest.approx(by_hand - incremental_usd(c.table))


def test_demand_falls_with_the_price_only_where_the_study_says_so(hire, sums):
    assert finished(hire, 6, sums).candidates[0].at_other_rates == ()
    elastic = replace(hire, terms=replace(hire.terms, elasticity=1.0, rate_usd_per_h=600.0))
    c = finished(elastic, 6, sums).candidates[0]
    rows = {round(row["rate_usd_per_h"]): row for row in c.at_other_rates}
    assert rows[600]["gain_usd"] == pytest.approx(c.profit_usd["mean"])
    assert rows[780]["billed_hours"] == pytest.approx(rows[600]["billed_hours"] / 1.3)


def test_a_single_costs_what_pilots_say(result):
    # Common practice: 130 to 230 dollars an hour, direct, for a 260 hp single at six dollars a gallon.
    single = result.candidates[0]
    assert 130.0 < single.measures["direct_cost_per_hour_usd"]["mean"] < 230.0
    curve = [row["mean"] for row in single.full_cost_per_hour_usd]
    assert all(a > b for a, b in pairwise(curve))
    assert curve[0] > 3.0 * curve[-1]


def test_rates_fall_with_the_hours_sold(result):
    for c in result.candidates:
        told = [row["rate_usd_per_h"] for row in c.rate_by_revenue_hours]
        assert all(a > b for a, b in pairwise(told))


def test_a_hundred_hour_inspection_comes_with_hire(hire):
    assert hire.terms.inspection_interval_h == 100.0


def test_what_is_missing_is_equipment(tmp_path):
    study = unfit(tmp_path)
    hire = prepare_hire(study)
    assert hire.missing == (("two-axis autopilot or second pilot", "second source of attitude",
                             "engine trend monitoring", "engine overhauled within 12 years"),)
    own = sums_of_chunk(hire, range(2))
    table = finished(hire, 2, own).candidates[0]
    assert set(table.turned_away) == {"equipment"}
    assert table.table["asked_refused_all"].tolist() == table.table["asked_wanted"].tolist()
    assert table.break_even_rate_usd["incremental"]["mean"] is None
    assert table.owner_trips["lost"]["mean"] == 0.0


def test_a_second_pilot_stands_in_for_the_autopilot(tmp_path):
    study = unfit(tmp_path, "outside: {crew: {second_pilot: true}}\n")
    hire = prepare_hire(study)
    assert "two-axis autopilot or second pilot" not in hire.missing[0]
    assert hire.terms.crew == 2
    people = {trip.people for trip in hire.group.persons[1].years[0]}
    assert min(people) >= 3  # one passenger at least, and two pilots


def test_leaseback_needs_no_certificate_and_pays_no_crew(tmp_path):
    study = unfit(tmp_path, "operation: rental_leaseback\noutside: {crew: {usd_per_day: null}}\n")
    hire = prepare_hire(study)
    assert hire.missing == ((),)
    assert hire.terms.usd_per_day == 0.0
    assert hire.terms.sale.ticket_tax_share == 0.0
    assert hire.group.persons[1].pilot.rating == "visual"


def test_a_charter_pilot_keeps_the_limits_of_the_rules(hire):
    pilot = hire.group.persons[1].pilot
    assert (pilot.max_flight_h_per_day, pilot.max_duty_h) == (8.0, 14.0)
    assert hire.group.persons[1].changes == {"flight.oxygen_free_ft": 10_000}
    limits = {flyer.plan.pilot.limits.max_flight_per_day_h for flyer in hire.group.alike[1].prepared.flyers}
    assert limits == {8.0}


def test_visual_charter_needs_no_instruments(tmp_path):
    study = unfit(tmp_path, "outside: {crew: {pilot: {rating: visual}}}\n")
    outside = study.spec.outside
    pilot = crew_pilot(study, outside, charter=True)
    missing = missing_for(study.candidates[0].profile, study, outside, pilot, charter=True)
    assert missing == ("engine overhauled within 12 years",)


def test_studies_that_say_too_little(tmp_path):
    with pytest.raises(InputError, match="outside"):
        prepare_hire(load_study())
    with pytest.raises(InputError, match="rental_leaseback or charter_on_certificate"):
        prepare_hire(study_of(tmp_path, "operation: private\n"))


def test_the_json_contract(result):
    found = rates_object(result, None)
    for candidate in found["candidates"]:
        for name in ("direct_cost_per_hour_usd", "empty_leg_share", "turned_away_share"):
            assert {"mean", "low", "high"} == set(candidate[name]), name
        assert [row["hours"] for row in candidate["full_cost_per_hour_usd"]] == [50, 100, 150, 200, 300, 400]
        assert set(candidate["break_even_rate_usd"]) == {"incremental", "full"}
        assert {"mean", "low", "high"} == set(candidate["break_even_rate_usd"]["full"])
    assert any("operating certificate" in text for text in found["cautions"])
    assert "NaN" not in dumps(rates_object(result, None))


@pytest.mark.slow
def test_the_break_even_rate_holds_in_other_years(hire):
    # The rate of forty years, as the price in forty others: no profit beyond chance, that of the rate included.
    known, other = (finished(hire, 40, sums_of_chunk(hire, years)).candidates for years in (range(40), range(40, 80)))
    for own, later in zip(known, other, strict=True):
        rate = own.break_even_rate_usd["incremental"]["mean"]
        past, profit = (profit_usd(s.table, hire.terms, rate) for s in (own, later))
        error = np.sqrt((past.var(ddof=1) + profit.var(ddof=1)) / 40)
        assert abs(profit.mean()) < 4 * error


@pytest.mark.slow
def test_results_do_not_depend_on_workers(hire):
    one, two = rates(hire, 14), rates(hire, 14, workers=2)
    assert rates_object(one, None) == rates_object(two, None)
    first = sums_of_chunk(hire, range(10))
    for name, values in first[0].items():
        assert np.array_equal(values, one.candidates[0].table[name][:10]), name


def test_every_key_of_the_printed_object(result):
    """Version 2: other programs read these by name."""
    found = rates_object(result, "somewhere")
    assert set(found) == {"version", "study", "year", "seed", "operation", "replications", "candidates", "cautions",
                          "out"}
    assert found["version"] == 2
    measured = {"direct_cost_per_hour_usd", "cost_per_hour_usd", "billed_hours", "value_lost_for_others_usd",
                "flight_hours", "outside_hours", "revenue_hours", "crew_usd", "cost_per_occupied_nm_usd",
                "empty_leg_share", "requests", "turned_away_share", "incremental_cost_usd"}
    for one in found["candidates"]:
        assert set(one) == measured | {"name", "missing", "full_cost_per_hour_usd", "break_even_rate_usd",
                                       "rate_with_margin_usd", "rate_by_revenue_hours", "owner_trips", "turned_away",
                                       "insurance", "at_other_rates", "profit_usd"}
        assert all(set(one[name]) == {"mean", "low", "high"} for name in measured)
        assert all(set(row) == {"hours", "mean", "low", "high"} for row in one["full_cost_per_hour_usd"])
        assert set(one["break_even_rate_usd"]) == set(one["rate_with_margin_usd"]) == {"incremental", "full"}
        assert all(set(row) == {"revenue_hours", "rate_usd_per_h"} for row in one["rate_by_revenue_hours"])
        assert set(one["owner_trips"]) == {"wanted", "completed_alone", "completed_with", "lost", "refused_alone",
                                           "refused_with"}
        assert set(one["insurance"]) == {"insurable", "why", "premium_usd", "dual_h"}


def test_the_answer_says_first_whether_the_owner_is_better_off(result):
    best = max(result.candidates, key=lambda c: c.profit_usd["mean"])
    first = rates_page(result).sentences[0]
    assert first.startswith("At 600 dollars and ")
    assert f"with the {best.name} the owner is {'better' if best.profit_usd['mean'] >= 0 else 'worse'} off" in first
    assert "own trips fewer" in first
    assert "lawful only under the operational control of the holder of an operating certificate" in first


def test_what_is_lacking_on_board_stands_among_what_must_be_said(tmp_path):
    hire = prepare_hire(unfit(tmp_path))
    page = rates_page(finished(hire, 2, sums_of_chunk(hire, range(2))))
    assert page.sentences[0].startswith("No revenue hour was flown.")
    assert "lacks for this operation: two-axis autopilot or second pilot" in page.limits[0]


def asked_by(folder, operation, more):
    """Return a study in which one kind of request is asked for, and the limits its page tells."""
    crew = ", crew: {usd_per_day: null}" if operation == "rental_leaseback" else ""
    study = study_of(folder, f"operation: {operation}\n"
                     f"outside: {{requests: [{{to: KOMA, per_year: 20, purpose: renters{more}}}]{crew}}}\n")
    lease = prepare_hire(study)
    return study, rates_page(finished(lease, 1, sums_of_chunk(lease, range(1)))).limits


@pytest.mark.parametrize(("operation", "occupied"), [("rental_leaseback", (True, True)),
                                                     ("charter_on_certificate", (True, False))])
def test_renters_bring_the_aircraft_back_and_a_charter_comes_home_empty_and_it_is_said(tmp_path, operation, occupied):
    study, limits = asked_by(tmp_path, operation, "")
    assert study.requests[0].occupied == occupied
    said = "wait" if occupied[-1] else "one_way"
    assert any(f"1 kind of request says nothing of the way back: taken as `kind: {said}`" in s for s in limits)
    assert not any("flown empty" in s for s in limits)


@pytest.mark.parametrize(("operation", "more", "warned"), [
    ("rental_leaseback", ", kind: one_way", True), ("rental_leaseback", ", kind: wait, from: KDEN", True),
    ("rental_leaseback", ", kind: wait", False), ("charter_on_certificate", ", kind: one_way", False)])
def test_empty_legs_are_questioned_where_renters_fly_themselves(tmp_path, operation, more, warned):
    _, limits = asked_by(tmp_path, operation, more)
    assert any("legs are flown empty for renters" in s for s in limits) == warned
    assert not any("nothing of the way back" in s for s in limits)
