from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from money_cases import CANDIDATES, candidate

from missionsim.base.assumptions import packaged_assumptions
from missionsim.money.insurance import PilotExperience, deductible_usd, quote


def test_the_reference_pilot_pays_hull_share_and_liability(assumptions):
    found = quote(candidate("R4"), PilotExperience(), assumptions)
    assert found.premium_usd == pytest.approx(140_000 * 0.020 + 600)
    assert found.insurable
    assert found.dual_h == 0
    assert set(found.factors.values()) == {1.0}


def test_of_the_deductible_a_year_bears_what_its_hours_and_its_parking_are_expected_to_bring(assumptions):
    # 0.15 claims in 1,000 h and one in 100 years while parked, 1,000 dollars each; nothing without a deductible.
    assert deductible_usd([0.0, 200.0], assumptions).tolist() == pytest.approx([10.0, 40.0])
    assert not deductible_usd([200.0], assumptions.replaced({"insurance.deductible_usd": 0})).any()


@given(st.sampled_from(sorted(CANDIDATES)), st.floats(0, 3_000), st.floats(0, 300), st.floats(0, 100),
       st.booleans(), st.floats(20, 90))
def test_experience_never_makes_it_dearer_and_age_never_cheaper(klass, total, retractable, in_type, rated, age):
    assumptions, aircraft = packaged_assumptions(), candidate(klass)
    base = PilotExperience(total, retractable, in_type, rated, age)
    premium = quote(aircraft, base, assumptions).premium_usd
    for better in (PilotExperience(total + 100, retractable, in_type, rated, age),
                   PilotExperience(total, retractable + 20, in_type, rated, age),
                   PilotExperience(total, retractable, in_type + 20, rated, age),
                   PilotExperience(total, retractable, in_type, True, age)):
        assert quote(aircraft, better, assumptions).premium_usd <= premium * (1 + 1e-12)
    older = PilotExperience(total, retractable, in_type, rated, age + 5)
    assert quote(aircraft, older, assumptions).premium_usd >= premium


def test_no_cover_is_a_verdict_with_reasons_not_an_error(assumptions):
    found = quote(candidate("T6"), PilotExperience(total_h=220.0, instrument_rated=False, age=79.0), assumptions)
    assert not found.insurable
    assert len(found.why) == 2
    assert "220 h total without instrument rating; insurers ask about 1000 h" in found.why[0]
    assert found.premium_usd > 0


def test_a_newcomer_to_retractables_needs_dual_before_solo(assumptions):
    new = PilotExperience(total_h=300.0, retractable_h=0.0, type_h=0.0)
    assert quote(candidate("R4"), new, assumptions).dual_h == pytest.approx(15.0)
    assert quote(candidate("F4"), new, assumptions).dual_h == pytest.approx(2.0)


# Common practice: two to three times the premium under 250 h, three to four times when hired out.
def test_low_time_and_hire_multiply_the_premium(assumptions):
    base = quote(candidate("F4"), PilotExperience(), assumptions).premium_usd
    assert 2.0 <= quote(candidate("F4"), PilotExperience(total_h=150.0), assumptions).premium_usd / base <= 3.0
    hired = quote(candidate("F4"), PilotExperience(), assumptions, hired_out=True)
    assert hired.premium_usd == pytest.approx(3.0 * base)
    assert quote(candidate("F4"), PilotExperience(), assumptions, owners=3).premium_usd == pytest.approx(1.08**2 * base)
    assert quote(candidate("F4"), PilotExperience(), assumptions, owners=5).premium_usd == pytest.approx(1.5 * base)
