"""The assumptions file: every number has a range it is replaced within, and what lies beyond is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from missionsim.base.accepted import Accepted, complaints, numbers
from missionsim.base.assumptions import REMOVED, Assumption, Assumptions, packaged_assumptions
from missionsim.base.errors import InputError
from missionsim.study.inputs.load_study import load_study

PACKAGED = list(packaged_assumptions())
NUMERIC = [e for e in PACKAGED if not isinstance(e.value, bool | str)]


def test_every_number_has_a_range_that_holds_it_and_its_low_and_high() -> None:
    wrong = []
    for entry in NUMERIC:
        wrong += [(entry.key, *c) for c in complaints(entry.value, entry.accepted, entry.unit, entry.value)]
        bare = Accepted(entry.accepted.ranges, entry.accepted.whole)
        wrong += [(entry.key, *c) for limit in (entry.low, entry.high) if limit is not None
                  for c in complaints(limit, bare, entry.unit, limit)]
    assert wrong == []


def test_low_value_and_high_come_in_that_order() -> None:
    def ends(entry: Assumption) -> tuple[Any, Any]:
        return tuple(entry.value if limit is None else limit for limit in (entry.low, entry.high))

    single = [e for e in NUMERIC if isinstance(e.value, int | float)]
    assert [e.key for e in single if not ends(e)[0] <= e.value <= ends(e)[1]] == []


def test_a_number_just_beyond_its_range_is_refused_wherever_it_stands() -> None:
    for entry in NUMERIC:
        for i, place in enumerate(numbers(entry.value, entry.accepted.ranges)):
            for beyond in (place.low - 1e-6, place.high + 1e-6, float("nan"), float("inf"), -10 ** 400):
                with pytest.raises(InputError) as caught:
                    packaged_assumptions().replaced({entry.key: _with(entry.value, i, beyond)})
                (fault,) = caught.value.faults
                assert fault.key == f"assumptions.{entry.key}"
                assert f"from {place.low:,g} to {place.high:,g} [{entry.unit}]" in fault.accepted


def test_all_other_entries_are_true_or_false() -> None:
    assert [e.key for e in PACKAGED if e not in NUMERIC and not isinstance(e.value, bool)] == []


def test_faults_of_overrides_name_file_line_key_value_and_what_is_accepted(tmp_path: Path) -> None:
    study = tmp_path / "study.yaml"
    study.write_text("extends: buyer.yaml\nassumptions:\n  cost.own_money_share: -0.05\n"
                     "  flight.visual_landing_minimum: [1200, -4]\n", encoding="utf-8")
    demo = Path(__file__).parents[2] / "profiles"
    text = study.read_text(encoding="utf-8").replace("buyer.yaml", str(demo / "studies" / "buyer.yaml"))
    study.write_text(text, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_study(study)
    assert str(caught.value).splitlines() == [
        f"{study}:3: assumptions.cost.own_money_share: is -0.05; accepted: a number from 0 to 0.3 [1/year].",
        f"{study}:4: assumptions.flight.visual_landing_minimum: number 2 is -4; "
        "accepted: a number from 1 to 20 [ft, sm]."]


@pytest.mark.parametrize(("key", "value", "what", "accepted"), [
    ("flight.alternates_looked_at", 2.5, "is 2.5", "a whole number from 1 to 20 [-]"),
    ("cost.oil_h_per_quart", {"F4": 8, "R4": 8, "H4": -7, "T6": 6}, "H4 is -7", "a number from 0.5 to 100 [h]"),
    ("insurance.type_points_h", [0, 10, 10, 50], "holds [0, 10, 10, 50]", "each is greater than the one before"),
    ("unknown.state_months_since_annual", [6, 1, 11], "holds [6, 1, 11]", "none is smaller than the one before"),
    ("unknown.state_hangared", {"yes": 0.7, "no": 0.4}, "adds up to 1.1", "numbers that add up to 1"),
    ("icing.coldest_c", -1, "is -1", "at most that of icing.warmest_c, -10"),
    ("flight.visual_landing_minimum", 1200, "is 1200", "a list [ft, sm], such as [1200, 4.0]"),
    ("flight.rest_h", "10", "is '10'", "a number [h], such as 10"),
    ("flight.rest_h", True, "is True", "a number [h], such as 10"),
    ("upgrade.ads_b", {"price_usd": 1, "downtime_days": 2, "weight_lb": 2, "changes": {},
                       "sets": {"panel.ads_b": False, "panel.weather_on_board": True}},
     "sets, panel.ads_b is False", "only the numbers of a table can be replaced")])
def test_overrides_that_make_no_sense_are_refused(key: str, value: Any, what: str, accepted: str) -> None:
    values = {key: value} | ({"icing.warmest_c": -10} if key == "icing.coldest_c" else {})
    with pytest.raises(InputError) as caught:
        packaged_assumptions().replaced(values)
    (fault,) = caught.value.faults
    assert fault.what == what
    assert accepted in fault.accepted


def test_the_entry_that_was_overridden_is_blamed_for_passing_another() -> None:
    with pytest.raises(InputError, match=r"icing\.warmest_c: is -10; accepted: at least that of icing\.coldest_c"):
        _with_coldest(-5).replaced({"icing.warmest_c": -10})


def test_an_unknown_key_gets_its_near_match() -> None:
    with pytest.raises(InputError, match=r"unknown assumption.*Did you mean 'runway\.margin'"):
        packaged_assumptions().replaced({"runway.margn": 1.2})


def test_a_range_moves_along_with_the_value_in_proportion() -> None:
    packaged = packaged_assumptions().entry("cost.fuel_usd_per_gal")
    fuel = packaged_assumptions().replaced({"cost.fuel_usd_per_gal": 2.0 * packaged.value}).entry(packaged.key)
    assert (fuel.low, fuel.high) == pytest.approx((2.0 * packaged.low, 2.0 * packaged.high))
    assert (fuel.overridden, fuel.ranged) == (True, False)
    # A share that may be negative moves by as much as its value; nothing leaves what is accepted.
    drift = packaged_assumptions().entry("ownership.value_drift_share")
    moved = packaged_assumptions().replaced({drift.key: drift.value - 0.01}).entry(drift.key)
    assert (moved.low, moved.high) == pytest.approx((drift.low - 0.01, drift.high - 0.01))
    key = "statistics.common_price_share"
    share = packaged_assumptions().replaced({key: 1.0}).entry(key)
    assert (share.low, share.high) == (0.4, 1.0)                  # 0.8 doubled would be beyond 1


def test_a_range_of_the_users_stands_as_given() -> None:
    given = {"low": 22_000, "likely": 30_000, "high": 45_000}
    old = packaged_assumptions()["engine_life.overhaul_usd"]
    found = packaged_assumptions().replaced({
        "cost.car_usd_per_sm": {"low": 0.5, "likely": 0.7, "high": 1.1},
        "engine_life.overhaul_usd": {**old, next(iter(old)): given}})
    car, overhaul = found.entry("cost.car_usd_per_sm"), found.entry("engine_life.overhaul_usd")
    assert (car.low, car.value, car.high, car.ranged) == (0.5, 0.7, 1.1, True)
    first, second = list(old)[:2]
    assert [e[first] for e in (overhaul.low, overhaul.value, overhaul.high)] == [22_000, 30_000, 45_000]
    assert [e[second] for e in (overhaul.low, overhaul.value, overhaul.high)] == [old[second]] * 3


@pytest.mark.parametrize(("value", "what", "accepted"), [
    ({"low": 0.9, "likely": 0.7, "high": 1.1}, "is {'low': 0.9", "low, likely and high in this order"),
    ({"low": 0.5, "likely": 0.7}, "is {'low': 0.5", "a number"),
    ({"low": -1.0, "likely": 0.7, "high": 1.1}, "is -1.0", "a number from 0"),
    ({"low": "x", "likely": 0.7, "high": 1.1}, "is {'low': 'x'", "a number")])
def test_a_range_that_is_none_is_refused(value: Any, what: str, accepted: str) -> None:
    with pytest.raises(InputError) as raised:
        packaged_assumptions().replaced({"cost.car_usd_per_sm": value})
    (fault,) = raised.value.faults
    assert fault.what.startswith(what)
    assert fault.accepted.startswith(accepted)


def test_numbers_without_a_range_are_an_error_of_ours() -> None:
    with pytest.raises(LookupError, match="no range"):
        list(numbers({"a": 1.0}, None))


def _with_coldest(value: float) -> Assumptions:
    return packaged_assumptions().replaced({"icing.coldest_c": value})


def _with(value: Any, place: int, number: Any) -> Any:
    """Return a copy of a value whose n-th number is another."""
    count = iter(range(10_000))

    def copied(part: Any) -> Any:
        if isinstance(part, dict):
            return {key: copied(item) for key, item in part.items()}
        if isinstance(part, list):
            return [copied(item) for item in part]
        is_number = isinstance(part, int | float) and not isinstance(part, bool)
        return number if is_number and next(count) == place else part

    return copied(value)


def test_a_key_of_a_former_version_names_its_successor() -> None:
    with pytest.raises(InputError) as caught:
        packaged_assumptions().replaced({"year.crosswind_share": 0.8, "flight.isa_margin_c": 5})
    first, second = caught.value.faults
    assert (first.what, first.near) == ("is no longer an assumption", "runway.crosswind_of_demonstrated_share")
    assert second.accepted == "nothing in its place"


def test_no_key_is_both_removed_and_there_and_every_successor_is_there() -> None:
    known = {entry.key for entry in PACKAGED}
    assert not known & set(REMOVED)
    assert {name for name in REMOVED.values() if name} <= known
