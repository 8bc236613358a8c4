"""Money worked by hand where a small slip would go unnoticed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from money_cases import candidate

from missionsim.base.assumptions import Assumptions
from missionsim.money.categories import CATEGORIES, CODE, Category
from missionsim.money.engine_life import engine_life
from missionsim.money.insurance import PilotExperience, quote
from missionsim.money.operating_costs import reserve_usd
from missionsim.money.overhauls import Engines, middle_draws, overhauls
from missionsim.money.ownership_cash import ownership_of
from missionsim.money.prices import Prices
from missionsim.money.purchase_terms import PurchaseTerms, YearlyRecords


def test_an_engine_that_stood_idle_lives_as_one_drawn_earlier(assumptions: Assumptions) -> None:
    # Twice the hazard: of the chance 0.5 to have come to its overhaul the half root is left, 1 - sqrt(0.5) = 0.293.
    aircraft = candidate("R4", hours_since_overhaul_h=0.0, overhaul_kind="unknown")
    draws = replace(middle_draws(aircraft, 2), was_idle=np.array([True, False]))
    due_h = Engines(aircraft, draws, assumptions, at_tbo=False, limits_bind=False).due_h
    life = engine_life("four", assumptions, aircraft.tbo_h)
    assert due_h == pytest.approx([float(life.overhaul_hours_h(1.0 - np.sqrt(0.5))), float(life.overhaul_hours_h(0.5))])


def test_an_overhauled_engine_starts_its_calendar_anew(assumptions: Assumptions) -> None:
    # Eleven and a half years old with a limit of twelve: due in the first year, and not again in the next nine.
    aircraft = candidate("R4", hours_since_overhaul_h=400.0, years_since_overhaul=11.5)
    done = overhauls(aircraft, np.full((1, 10), 60.0), middle_draws(aircraft, 1), assumptions, limits_bind=True)
    assert (done.engine_usd[0] > 0.0).tolist() == [True] + [False] * 9


def test_only_a_fixed_gear_six_pays_less_hull_premium(assumptions: Assumptions) -> None:
    pilot = PilotExperience(total_h=2000.0, retractable_h=500.0, type_h=200.0)
    fixed, folding = (quote(candidate("H4", retractable=r), pilot, assumptions).hull_usd for r in (False, True))
    assert fixed / folding == pytest.approx(assumptions["insurance.fixed_gear_share"])


def test_a_propeller_that_flies_little_is_used_up_by_the_calendar(assumptions: Assumptions) -> None:
    # Three blades and governor, 7,000 dollars: 40 h of 2,000 are 2 % a year, one year of eight 12.5 %; 400 h are 20 %.
    # The engine: (70,000 and 15 % of 9,000 for a case) over 1,700 h.
    engine = 71_350.0 / 1_700.0
    few, many = (float(reserve_usd(candidate("H4"), h, assumptions)) for h in (40.0, 400.0))
    assert few == pytest.approx(40.0 * engine + 7000.0 / 8.0)
    assert many == pytest.approx(400.0 * engine + 1400.0)


def test_a_history_of_damage_takes_its_share_of_the_sale(assumptions: Assumptions, prices: Prices) -> None:
    aircraft = candidate("R4")
    flown = np.full((1, 4), 80.0)
    records = YearlyRecords(flown, flown, flown, np.zeros((1, 4, len(CATEGORIES)), dtype=np.int64))
    clean = middle_draws(aircraft, 1)
    damaged = replace(clean, value_lost_share=np.array([0.15]))
    got = [float(ownership_of(aircraft, records, d, PurchaseTerms(nominal=True), prices, assumptions)
                 .cash_cents[0, -1, CODE[Category.RESALE]]) for d in (clean, damaged)]
    assert got[1] / got[0] == pytest.approx(0.85, abs=1e-6)
