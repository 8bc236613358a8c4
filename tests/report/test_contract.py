"""The object that other programs read: keys, kinds, and null for what is unknown."""

from __future__ import annotations

import json
import math
from dataclasses import dataclass, replace

import numpy as np
import pytest

from missionsim.report.contract import clean, comparison_json, comparison_object, dumps

INTERVAL = {"mean", "low", "high", "p10", "p50", "p90", "p10_low", "p10_high", "p90_low", "p90_high"}
OF_CANDIDATE = {
    "trips_wanted", "completed_share", "delayed_share", "broken_off_share", "flight_hours", "block_hours",
    "door_to_door_hours", "nights_away_forced", "flights", "fuel_stops", "fuel_gal", "cost_usd", "net_cost_usd",
    "cost_per_hour_usd", "cost_per_completed_trip_usd"}


@pytest.fixture(scope="module")
def found(comparison):
    return json.loads(comparison_json(comparison, "somewhere"), parse_constant=pytest.fail)


def test_the_object_has_the_keys_it_promises(found):
    assert {"version", "study", "year", "seed", "replications", "candidates", "differences", "probability_best",
            "confidence_mean_best", "out"} <= set(found)
    assert (found["year"], found["seed"], found["replications"], found["out"]) == (2025, 7, 2, "somewhere")


def test_every_measure_of_a_candidate_has_interval_and_spread(found):
    for candidate in found["candidates"]:
        assert set(candidate) >= OF_CANDIDATE | {"name", "refused", "delayed", "by_month"}
        for name in OF_CANDIDATE:
            assert set(candidate[name]) == INTERVAL
        assert set(candidate["refused"]) == {"structural", "on_the_day"}
        assert [m["month"] for m in candidate["by_month"]] == list(range(1, 13))


def test_trips_add_up(found):
    for candidate in found["candidates"]:
        refused = sum(sum(part.values()) for part in candidate["refused"].values())
        done = candidate["completed_share"]["mean"] + candidate["broken_off_share"]["mean"]
        assert done * candidate["trips_wanted"]["mean"] + refused == pytest.approx(7.0)


def test_differences_are_a_minus_b(found):
    by_name = {c["name"]: c for c in found["candidates"]}
    for d in found["differences"]:
        assert set(d) == {"a", "b", "measure", "mean", "low", "high"}
        if d["measure"] not in {"extra_usd_per_hour_saved", "common_trips_hours", "door_to_door_hours"}:
            own = by_name[d["a"]][d["measure"]]["mean"] - by_name[d["b"]][d["measure"]]["mean"]
            assert d["mean"] == pytest.approx(own)
    assert "extra_usd_per_hour_saved" in {d["measure"] for d in found["differences"]}


def test_chances_of_being_best_add_up(found):
    for name in ("net_cost_usd", "cost_per_completed_trip_usd", "completed_share"):
        assert sum(found["probability_best"][name].values()) == pytest.approx(1.0)
    assert set(found["confidence_mean_best"]) == {"net_cost_usd"}
    assert sum(found["confidence_mean_best"]["net_cost_usd"].values()) == pytest.approx(1.0)


def test_chances_were_prices_apart_or_alike_are_printed_as_in_the_report(comparison):
    sure = replace(comparison.certainty, enough=True, at_common={0.0: (0.7, 0.3), 1.0: (0.9, 0.1)})
    a, b = comparison.names
    assert comparison_object(replace(comparison, certainty=sure), None)["confidence_by_common_share"] == [
        {"common_share": 0.0, "net_cost_usd": {a: 0.7, b: 0.3}},
        {"common_share": 1.0, "net_cost_usd": {a: 0.9, b: 0.1}}]
    few = replace(comparison, certainty=replace(sure, enough=False))
    assert "confidence_by_common_share" not in comparison_object(few, None)


def test_one_year_has_no_interval_but_null(comparison):
    one = json.loads(dumps({"low": math.nan, "high": math.inf, "mean": np.float64(2.0)}))
    assert one == {"low": None, "high": None, "mean": 2.0}
    assert comparison_object(comparison, None)["out"] is None


def test_clean_unpacks_what_json_does_not_know():
    @dataclass(frozen=True)
    class Thing:
        values: np.ndarray

    given = {"a": Thing(np.array([1, 2])), "b": (np.bool_(True), "x")}
    assert clean(given) == {"a": {"values": [1, 2]}, "b": [True, "x"]}
