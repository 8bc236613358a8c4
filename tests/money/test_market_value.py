"""What an aircraft sells for apart from what is asked or paid: by hand from its class's middle price."""

from __future__ import annotations

from math import exp, log

import pytest

from missionsim.aircraft.classes import KINDS, figures_of
from missionsim.aircraft.profile import Profile
from missionsim.aircraft.upgrades import apply_upgrades
from missionsim.money.cost_profile import cost_profile
from missionsim.money.market_value import market_value, priced_class, usual_price
from missionsim.study.inputs.load_study import load_study
from missionsim.study.unknowns.draws import Listing
from missionsim.study.unknowns.effects import value_lost_share


@pytest.fixture(scope="module")
def retractable() -> Profile:
    """A plain one of the class r250: built in the class's usual year, nothing extra in the panel, nothing said."""
    profile = load_study().candidates[0].profile
    return profile.changed({"identity.year": KINDS["r250"].year, "panel.approach": "none", "panel.autopilot": "none",
                            "panel.ads_b": True, "panel.electronic_attitude": False, "panel.ice_protection": "none",
                            "state.airframe_hours_h": "unknown", "state.damage_history": "unknown",
                            "state.logs_complete": "unknown"})


def priced(profile, assumptions, hours_h=850.0):
    return usual_price(profile, 2025, hours_h, 1_700.0, 50_000.0, assumptions)


def test_a_plain_one_half_way_to_overhaul_brings_the_middle_of_its_class(retractable, assumptions):
    middle = 1_000.0 * figures_of("r250")["hull_kusd"].likely
    found = priced(retractable, assumptions)
    assert priced_class(retractable) == "r250"
    assert found.usual_usd == pytest.approx(middle)
    # 0.22 a standard deviation, 1.2816 of them to the 10 and 90 % points.
    assert log(found.high_usd / middle) == pytest.approx(0.22 * 1.28155, abs=1e-4)
    assert found.low_usd * found.high_usd == pytest.approx(middle**2)


def test_years_engine_and_panel_move_it_by_what_is_assumed(retractable, assumptions):
    middle = priced(retractable, assumptions).usual_usd
    newer = retractable.changed({"identity.year": KINDS["r250"].year + 4})
    assert priced(newer, assumptions).usual_usd == pytest.approx(middle * exp(4 * 0.015))
    # Fresh from overhaul against run out: 0.7 of 50,000 dollars of the middle price, half of it either way.
    ratio = priced(retractable, assumptions, 0.0).usual_usd / priced(retractable, assumptions, 1_700.0).usual_usd
    assert ratio == pytest.approx(exp(0.7 * 50_000.0 / (1_000.0 * figures_of("r250")["hull_kusd"].likely)))
    better = retractable.changed({"panel.approach": "lpv"})
    assert priced(better, assumptions).usual_usd == pytest.approx(middle * exp(0.12))


@pytest.mark.parametrize(("works", "adds"), [(True, 0.135), ("unknown", 0.135), (False, 0.0)])
def test_an_autopilot_that_is_out_of_order_adds_nothing(retractable, assumptions, works, adds):
    plain = priced(retractable, assumptions).usual_usd
    fitted = retractable.changed({"panel.autopilot": "two_axis", "panel.autopilot_works": works})
    assert priced(fitted, assumptions).usual_usd == pytest.approx(plain * exp(adds))


def valued(profile, assumptions, asked, **more):
    changes = {"prices.asking_price_usd": asked} | more
    return market_value(profile.changed(changes), 2025, 850.0, 1_700.0, 50_000.0, assumptions)


def test_who_asks_too_much_owns_no_dearer_aircraft_and_it_is_said(retractable, assumptions):
    usual = priced(retractable, assumptions)
    within = valued(retractable, assumptions, usual.usual_usd)
    assert (within.usd, within.finding) == (pytest.approx(0.95 * usual.usual_usd), "")
    above = valued(retractable, assumptions, 1.15 * usual.usual_usd)      # 9 % over the middle, well within
    assert (above.usd, above.finding) == (pytest.approx(0.95 * 1.15 * usual.usual_usd), "")
    dear = valued(retractable, assumptions, 2.0 * usual.high_usd)
    assert dear.usd == pytest.approx(usual.high_usd)
    assert "over what we expect such an aircraft to bring" in dear.finding
    # Cheap: worth what is paid, no more; a run-out engine is named only under what one in ten of the class brings.
    least = 1_000.0 * figures_of("r250")["hull_kusd"].low
    for asked, named in ((1.02 * least, False), (0.98 * least, True)):
        cheap = valued(retractable, assumptions, asked)
        assert cheap.usd == pytest.approx(0.95 * asked)
        assert "under what we expect" in cheap.finding
        assert "ask the seller why before all else; it is valued at what is paid for it" in cheap.finding
        assert ("run-out engine" in cheap.finding) == named
    guess = retractable.changed({"prices.asking_price_usd": 3.0 * usual.high_usd})
    guess = guess.model_copy(update={"class_guesses": frozenset({"prices.asking_price_usd"})})
    nobody_asks = market_value(guess, 2025, 850.0, 1_700.0, 50_000.0, assumptions)
    assert (nobody_asks.usd, nobody_asks.finding) == (pytest.approx(0.95 * 3.0 * usual.high_usd), "")


def test_glass_with_a_coupled_autopilot_adds_what_the_source_says(retractable, assumptions):
    """20 to 60 % on an older airframe: likely the middle of the two on the logarithm, 38.6 %."""
    entry = assumptions.entry("market_value.panel_share")
    parts = ("lpv", "two_axis", "electronic_attitude")
    assert [exp(sum(of[part] for part in parts)) for of in (entry.low, entry.value, entry.high)] == pytest.approx(
        [1.20, (1.2 * 1.6) ** 0.5, 1.60], rel=0.005)
    full = retractable.changed({"panel.approach": "lpv", "panel.autopilot": "two_axis",
                                "panel.electronic_attitude": True})
    plain = priced(retractable, assumptions).usual_usd
    assert priced(full, assumptions).usual_usd == pytest.approx(1.384 * plain, rel=0.001)
    middle = 1_000.0 * figures_of("r250")["hull_kusd"].likely
    assert priced(retractable.changed({"panel.ads_b": False}), assumptions).usual_usd == pytest.approx(
        plain * exp(-4_500.0 / middle))


def test_what_the_buyer_builds_in_is_no_part_of_what_is_advertised(retractable, assumptions):
    plain = retractable.changed({"panel.ads_b": False})
    fitted = apply_upgrades(plain, ["lpv_navigator", "two_axis_autopilot", "electronic_attitude", "ads_b"], assumptions)
    assert fitted.panel.approach == "lpv"
    assert priced(fitted, assumptions) == priced(plain, assumptions)


@pytest.mark.parametrize(("times", "falls"), [(0.3, 0.0), (3.0, 0.35)])
def test_damage_and_missing_logs_that_are_said_count_once(retractable, assumptions, times, falls):
    """Held at the end of the range: that is lower by 15 and 20 % (of the logarithm); what is asked knows of it."""
    said = {"state.damage_history": "recent_major", "state.logs_complete": False}
    asked = times * priced(retractable, assumptions).usual_usd
    clean, hurt = (valued(retractable, assumptions, asked, **more).usd for more in ({}, said))
    assert hurt == pytest.approx(clean * exp(-falls))
    drawn = Listing.of(retractable.changed(said), 2025, assumptions).drawn(5, range(40))
    airframe = drawn.values["state.airframe_hours_h"]
    assert value_lost_share(drawn) == pytest.approx(1e-5 * (airframe - 85.0 * (2025 - KINDS["r250"].year)))


def test_a_value_that_is_given_holds_whatever_is_asked(retractable, assumptions):
    for asked in (60_000.0, 120_000.0, 300_000.0):
        assert valued(retractable, assumptions, asked, **{"prices.market_value_usd": 90_000.0}).usd == 90_000.0
    bought = [cost_profile(retractable.changed({"prices.asking_price_usd": asked, "prices.market_value_usd": 90_000.0}),
                           2025, assumptions) for asked in (60_000.0, 120_000.0)]
    assert [c.hull_value_usd for c in bought] == [90_000.0, 90_000.0]
    assert [c.asking_price_usd for c in bought] == [60_000.0, 120_000.0]
