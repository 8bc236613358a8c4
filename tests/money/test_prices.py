from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.money.prices import event_range, low_likely_high, place_prices, prices_of


def test_the_users_prices_win_and_none_is_not_given(assumptions):
    prices = prices_of(assumptions, {"fuel_usd_per_gal": 7.1, "hangar_usd_per_month": None, "fuel_at": {"KOMA": 5.0}})
    assert prices.fuel_usd_per_gal == 7.1
    assert prices.hangar_usd_per_month is None
    assert prices.fuel_price_usd_per_gal("KOMA") == 5.0
    assert prices.fuel_price_usd_per_gal("KGRI") == 7.1


def test_all_faults_at_once_with_a_near_match(assumptions):
    with pytest.raises(InputError) as caught:
        prices_of(assumptions, {"fuel_usd_per_gall": 6.0, "landing_fee_usd": -1.0, "fuel_at": {"KOMA": "cheap"}})
    text = str(caught.value)
    assert len(caught.value.faults) == 3
    assert "Did you mean 'fuel_usd_per_gal'?" in text
    assert "prices.landing_fee_usd: is -1.0; accepted: a number, 0 or above" in text
    assert "prices.fuel_at.KOMA: is 'cheap'" in text


def test_home_charges_neither_landing_nor_parking_unless_the_user_says_so(assumptions):
    prices = prices_of(assumptions)
    assert place_prices(["KGRI", "KOMA"], 0, prices).landing_fee_usd.tolist() == [0.0, 8.0]
    assert place_prices(["KGRI", "KOMA"], 0, prices, 0.0, {"KGRI": 5.0}).landing_fee_usd.tolist() == [5.0, 8.0]


def test_part_of_an_events_range_is_its_level(assumptions):
    """Of the log variance 0.64 is the level: the root of 0.36, 0.6 of the log width, is left to the event, by hand."""
    whole = low_likely_high(assumptions, "maintenance.fault_cost_usd", "F4")
    assert whole == (50.0, 140.0, 470.0)
    part = assumptions.replaced({"statistics.event_level_share": 0.64})
    assert event_range(part, "maintenance.fault_cost_usd", "F4") == pytest.approx((75.48, 140.0, 289.5), abs=0.05)
    none = assumptions.replaced({"statistics.event_level_share": 0.0})
    assert event_range(none, "maintenance.fault_cost_usd", "F4") == whole


def test_a_quote_given_is_paid_and_a_repair_given_keeps_the_scatter_of_repairs(assumptions):
    given = assumptions.replaced({"maintenance.oil_change_usd": 440.0, "maintenance.repair_travel_usd": 1_300.0})
    assert event_range(given, "maintenance.oil_change_usd") == (440.0, 440.0, 440.0)
    assert event_range(given, "maintenance.repair_travel_usd") == (600.0, 1_300.0, 2_400.0)
    unsure = assumptions.replaced({"maintenance.oil_change_usd": {"low": 300, "likely": 440, "high": 500},
                                   "statistics.event_level_share": 0.0})
    assert event_range(unsure, "maintenance.oil_change_usd") == (300.0, 440.0, 500.0)


def test_every_range_of_a_cost_is_in_order(assumptions):
    groups = ("cost.", "maintenance.", "engine_life.", "insurance.", "ownership.")
    for entry in (e for e in assumptions if e.key.startswith(groups)):
        classes = list(entry.value) if isinstance(entry.value, dict) else [""]
        if isinstance(entry.value[classes[0]] if classes != [""] else entry.value, list):
            continue
        for klass in classes:
            low, likely, high = low_likely_high(assumptions, entry.key, klass)
            assert low <= likely <= high, entry.key
        assert entry.what
        assert entry.source
