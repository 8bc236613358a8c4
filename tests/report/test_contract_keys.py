"""Every key of version 2, for `compare`, `partners` and `rates`: other programs read them by name."""

from __future__ import annotations

import json

import pytest

from missionsim.report.contract import MEASURES, comparison_json
from missionsim.report.shared_page import VERSION as SHARED
from missionsim.study.compare.compare import CONTRACT_VERSION

MEASURE = {"mean", "low", "high", "p10", "p50", "p90", "p10_low", "p10_high", "p90_low", "p90_high"}
TOP = {"version", "study", "year", "seed", "replications", "candidates", "differences", "probability_best",
       "confidence_mean_best", "confidence_by_common_share", "alternatives", "efficient", "by_value_of_time",
       "as_asked", "find_out", "knowing_all_usd", "trip_worth", "tipping_points", "bars", "offers", "decided_before",
       "out"}
CANDIDATE = {"name", "refused", "delayed", "by_month", "does_the_job", "equals_not_owning_usd_per_h", "spread",
             "prices_usd", "by_year", "net_present_cost_usd", "ownership", "insurance", "market_value",
             "cash_at_purchase_usd", "cash_first_year_usd", "origin"}
ALTERNATIVE = {"kind", "name", "estimate", "net_cost_usd", "car_and_airline_usd", "given_up_usd", "trips_made",
               "trips_by_other_means", "trips_given_up", "door_to_door_hours", "compared_hours", "party_hours",
               "local_usd", "must_go_lost"}
EFFICIENT = {"kind", "name", "usd", "hours", "trips_made", "extra_usd", "hours_saved", "trips_more",
             "usd_per_hour_saved", "usd_per_trip_more", "level"}
FIND_OUT = {"who", "candidate", "figure", "label", "unit", "value_usd", "standard_error_usd", "spread_usd",
            "break_even", "changing", "why", "kept", "bargain"}
DIFFERENCES = {"net_cost_usd", "cost_usd", "completed_share", "flight_hours", "door_to_door_hours",
               "common_trips_hours", "fuel_stops", "extra_usd_per_hour_saved"}
LISTS = {
    "as_asked": {"name", "net_cost_usd", "trips_made"},
    "trip_worth": {"trip", "to", "candidate", "made_share", "more_usd", "saved_h", "at_usd_per_h", "counted"},
    "tipping_points": {"variable", "unit", "at", "low", "high", "from", "to", "how", "today", "placed"},
    "bars": {"what", "unit", "low", "high", "source", "low_usd", "high_usd", "swing_usd", "changes_hands"},
    "offers": {"candidate", "rival", "asking_usd", "paid_usd", "market_value_usd", "equal_usd", "low_usd", "high_usd",
               "engine_hour_usd", "engine_hour_low_usd", "engine_hour_high_usd"},
    "decided_before": {"candidate", "before_h", "legs", "visual_legs", "below_share", "put_off_share",
                       "false_stop_share", "false_go_share", "false_go_arrival_share"}}
"""Keys of what stands in lists, by the list's name."""
OF_CANDIDATE = {
    "refused": {"structural", "on_the_day"}, "insurance": {"insurable", "why", "premium_usd", "dual_h"},
    "market_value": {"usd", "usual_usd", "low_usd", "high_usd", "finding", "origin"},
    "ownership": {"net_present_cost_usd", "aircraft_present_cost_usd", "cost_per_year_usd", "capital_cost_usd",
                  "cost_per_hour_usd", "cost_per_completed_trip_usd", "cost_per_seat_nm_usd", "resale_usd",
                  "trips_lost_to_shop", "worst_tenth_usd", "cash", "engine_overhaul_share", "early_overhaul_share",
                  "insurance", "loan"}}
PURCHASE = {"year", "cash_usd", "categories_usd"}
KEPT = PURCHASE | {"flight_hours", "completed_trips", "reserve_usd", "engine_overhaul_share",
                   "propeller_overhaul_share"}
MONTH = {"month", "trips_wanted", "completed_share", "flight_hours", "cost_usd"}


@pytest.fixture(scope="module")
def found(comparison):
    return json.loads(comparison_json(comparison, "somewhere"), parse_constant=pytest.fail)


def test_all_objects_are_of_version_two():
    """The keys of the other two are held where they are flown: tests/study/shared_use."""
    assert (CONTRACT_VERSION, SHARED) == (2, 2)


def test_the_object_of_compare(found):
    assert set(found) == TOP
    assert found["version"] == 2
    assert "questions" not in found  # version 1 had them; find_out takes their place


def test_each_candidate(found):
    for one in found["candidates"]:
        assert set(one) == CANDIDATE | set(MEASURES)
        assert set(one["spread"]) == {"luck", "listing", "prices", "total", "interaction"}
        assert set(one["prices_usd"]) == {"p10", "p90"}
        assert set(one["equals_not_owning_usd_per_h"]) == {"at", "low", "high"}
        assert one["does_the_job"] in {"yes", "no", "too close to tell"}
        for name in MEASURES:
            assert set(one[name]) == MEASURE, name


def test_what_each_candidate_holds(found):
    for one in found["candidates"]:
        for name, keys in OF_CANDIDATE.items():
            assert set(one[name]) == keys, name
        assert set(one["ownership"]["cash"]) == {"p90_usd", "p95_usd", "year"}
        first, *kept = one["by_year"]
        assert set(first) == PURCHASE
        assert all(set(year) == KEPT for year in kept)
        assert all(set(month) == MONTH for month in one["by_month"])


@pytest.mark.parametrize("name", LISTS)
def test_what_stands_in_lists(found, name):
    assert found[name] or name == "tipping_points"  # there is not always one
    assert all(set(one) == LISTS[name] for one in found[name]), name


def test_alternatives_and_the_trade_off(found):
    assert [a["kind"] for a in found["alternatives"]] == ["rent", "share_of_three", "none"]
    for one in found["alternatives"]:
        assert set(one) == ALTERNATIVE
        for name in ALTERNATIVE - {"kind", "name", "estimate"}:
            assert set(one[name]) == MEASURE, name
    assert all(set(step) == EFFICIENT for step in found["efficient"])
    assert [step["usd_per_h"] for step in found["by_value_of_time"]] == [0.0, 25.0, 50.0, 100.0]
    assert all(set(step) == {"usd_per_h", "order", "net_cost_usd"} for step in found["by_value_of_time"])


def test_what_to_find_out(found):
    assert all(set(one) == FIND_OUT for one in found["find_out"])
    assert {one["who"] for one in found["find_out"]} <= {"seller", "insurer", "landlord", "shop", "lender", "oneself"}


def test_differences_name_their_measure(found):
    assert {d["measure"] for d in found["differences"]} == DIFFERENCES
    assert all(set(d) == {"a", "b", "measure", "mean", "low", "high"} for d in found["differences"])
