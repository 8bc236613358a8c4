"""Engines and propellers of a private owner age by condition; the calendar binds for hire. Values by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from money_cases import candidate

from missionsim.money.cash_items import overhauls_of
from missionsim.money.categories import CATEGORIES
from missionsim.money.engine_life import counted_h, wear_factor
from missionsim.money.overhauls import middle_draws, overhauls
from missionsim.money.ownership_cash import ownership_of
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords

CALM = {"ownership.overhaul_drift_share": 0.0, "ownership.value_lost_per_airframe_h": 0.0}


def standing(years):
    none = np.zeros((1, years))
    return YearlyRecords(none, none, none, np.zeros((1, years, len(CATEGORIES)), dtype=np.int64))


def test_forty_years_without_a_flight_bring_a_private_owner_no_overhaul_and_hire_one_by_the_calendar(assumptions):
    aircraft = candidate("T6", hours_since_overhaul_h=900.0, years_since_overhaul=11.0, propeller_years=7.0)
    draws = replace(middle_draws(aircraft, 1), calendar_years=np.full((1, 3), 9.0),
                    propeller_life_years=np.array([6.0]))
    idle = standing(40)
    private = overhauls_of(aircraft, idle, draws, PurchaseTerms(), assumptions)
    assert private.engine_usd.sum() == private.propeller_usd.sum() == private.turbo_usd.sum() == 0.0
    hired = overhauls_of(aircraft, idle, draws, PurchaseTerms(limits_bind=True), assumptions)
    # 11 years are past and the twelfth ends the first year: the year in which 12 is exceeded is the second.
    assert np.flatnonzero(hired.engine_usd[0])[0] == 1


def test_hire_overhauls_a_propeller_by_the_makers_years_and_a_private_one_by_its_own(assumptions):
    aircraft = candidate("R4", propeller_years=2.0, propeller_hours_h=0.0)
    flown = np.full((1, 9), 50.0)
    draws = replace(middle_draws(aircraft, 1), propeller_life_years=np.array([9.5]))
    private = overhauls(aircraft, flown, draws, assumptions).propeller_usd[0]
    hired = overhauls(aircraft, flown, draws, assumptions, limits_bind=True).propeller_usd[0]
    assert np.flatnonzero(private).tolist() == [7]       # ten years old at the end of the eighth
    assert np.flatnonzero(hired).tolist() == [3]         # six years old at the end of the fourth; the next in the tenth


def test_an_engine_wears_faster_from_its_own_age_on(assumptions):
    assert wear_factor([100.0, 100.0], [10.0, 10.0], assumptions, [9.0, 11.0]).tolist() == [1.3, 1.0]
    aircraft = candidate("R4", hours_since_overhaul_h=0.0, years_since_overhaul=0.0)
    usual = middle_draws(aircraft, 2)
    flown = np.full((2, 30), 100.0)
    named = replace(usual, calendar_years=np.full((2, 3), 12.0))
    assert (overhauls(aircraft, flown, named, assumptions).engine_usd
            == overhauls(aircraft, flown, usual, assumptions).engine_usd).all()
    # Median life 2,200 h: sound throughout it is reached in year 22. From the fifth year's end on an hour counts 1.3:
    # years 1 to 6 wear 100 each (age at the start 0 to 5), then 130: 600 + 130 n reaches 2,200 in n = 12.3, year 19.
    sound = replace(usual, calendar_years=np.array([[99.0] * 3, [5.0] * 3]))
    due = overhauls(aircraft, flown, sound, assumptions).engine_usd > 0.0
    assert [int(np.flatnonzero(row)[0]) + 1 for row in due] == [22, 19]


def test_a_buyer_counts_years_for_hours_where_few_were_flown(assumptions):
    """Usual are 85 h a year; half of what is missing counts: 15 years, 1,275 h, 775 missing."""
    assert counted_h([500.0, 500.0], [5.0, 15.0], assumptions).tolist() == [500.0, 887.5]
    aircraft = candidate("R4", engines=2, hours_since_overhaul_h=300.0, second_engine_h=1_000.0,
                         years_since_overhaul=10.0)
    assert aircraft.counted_engine_h(assumptions) == (575.0 + 1_000.0) / 2.0
    draws = replace(middle_draws(aircraft, 1), second_hours_h=np.array([1_000.0]))
    assert draws.kept_h(np.array([100.0]), 5.0, assumptions)[0] == (837.5 + 1_187.5) / 2.0


@pytest.mark.parametrize(("years_since", "lost_h"), [(10.0, 212.5), (0.0, 12.5)])
def test_an_engine_that_stands_loses_value_with_age(assumptions, prices, years_since, lost_h):
    """Five years of 85 h, half counted: 212.5 h at 19 dollars; 400 h run at once come near 425."""
    calm = assumptions.replaced(CALM | {"ownership.inflation_share": 0.0})
    aircraft = candidate("R4", asking_price_usd=100_000.0, hours_since_overhaul_h=400.0,
                         years_since_overhaul=years_since)
    found = ownership_of(aircraft, standing(5), middle_draws(aircraft, 1), PurchaseTerms(), prices, calm)
    assert -found.cash_cents[0, -1].sum() / 100.0 == pytest.approx((100_000.0 - 19.0 * lost_h) * 0.95)


def test_a_turbocharger_lasts_as_long_as_is_drawn(assumptions):
    aircraft = candidate("T6", hours_since_overhaul_h=100.0, years_since_overhaul=1.0)
    draws = replace(middle_draws(aircraft, 2), engine_life=np.full((2, 3), 0.999_999),
                    turbo_life_h=np.array([550.0, 950.0]))
    done = overhauls(aircraft, np.full((2, 6), 100.0), draws, assumptions)
    assert (done.turbo_usd > 0.0).tolist() == [[False] * 4 + [True, False], [False] * 6]
