"""Profiles made whole by what is usual for a class: valid, marked, and never against the seller."""

from __future__ import annotations

import pytest
import yaml
from advertisement_cases import CASES, REFERENCE, TODAY

from missionsim import read_advertisement
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.study.inputs.advertisement.typical import FLOWN, RETRACTABLE, class_figures, why_not_flown
from missionsim.study.inputs.check import check_profile

WORDS = {"lsa2": "light sport two seat", "trn2": "two seat", "c310": "four seat composite"}


def whole(text):
    proposal = read_advertisement(text, TODAY)
    return proposal, Profile.model_validate(yaml.safe_load(proposal.whole_profile_text))


@pytest.mark.parametrize("class_id", FLOWN)
def test_a_class_alone_makes_a_profile_that_fits_together(class_id):
    usual = class_figures()[class_id]
    gear = "retractable" if class_id in RETRACTABLE else "fixed gear"
    kind = WORDS.get(class_id, f"{usual['seats'][1]:.0f} seat")
    text = f"1990 {kind} {gear} {usual['rated_hp'][1]:.0f} hp {'turbocharged' if class_id == 'x6t' else ''}, $100,000"
    proposal, profile = whole(text)
    assert proposal.class_id == class_id
    check_profile("x", profile, packaged_assumptions(), 2026)  # raises where the figures fit no aircraft
    assert profile.max_takeoff_lb == usual["max_takeoff_lb"][1]
    assert profile.tanks[0].usable_gal == usual["usable_gal"][1]
    # a brochure's useful load less 60 lb of equipment
    assert profile.weights.useful_load_lb.likely == usual["useful_load_lb"][1] - 60


@pytest.mark.parametrize("case", [c for c in CASES if not read_advertisement(c.text, TODAY).not_flown_because],
                         ids=lambda c: c.name)
def test_every_advertisement_of_a_flown_class_becomes_a_whole_profile(case):
    proposal, profile = whole(case.text)
    check_profile("x", profile, packaged_assumptions(), 2026)
    for figure in proposal.figures:
        section, _, name = figure.key.partition(".")
        plain = not isinstance(figure.value, tuple) and name != "pressurised"
        if plain and section in ("identity", "state", "prices", "panel"):
            assert getattr(getattr(profile, section), name) == figure.value


def test_the_seller_is_never_overridden():
    proposal, profile = whole(REFERENCE[0].text)
    assert profile.weights.useful_load_lb == 905
    assert not {f.key for f in proposal.guesses} & {f.key for f in proposal.figures}
    for figure in proposal.guesses:
        assert "class guess" in proposal.whole_profile_text
        assert figure.how == "class guess"


def test_more_power_climbs_better():
    # 20 hp more in 2,520 lb: 0.654 x 33,000 x 20 / 2,520 = 171 fpm
    usual = class_figures()["f180"]
    assert usual["max_takeoff_lb"][1] == 2520
    _, profile = whole("1990 four seat fixed gear 200 hp $100,000")
    assert profile.book.climb_fpm == pytest.approx(usual["climb_fpm"][1] + 171, abs=6)


def test_a_claimed_flow_says_the_power():
    # 8 gal/h x 6 lb / 0.46 lb/hp/h = 104 hp of 200: 0.52
    _, profile = whole("1990 four seat retractable 200 hp, cruise 135 kts at 8.0 gph $100,000")
    assert profile.book.cruise[0].power_share == pytest.approx(0.52)


def test_what_is_not_flown_is_said():
    assert "twins" in why_not_flown("twl")
    assert "turbines" in why_not_flown("stp")
    assert "diesel" in why_not_flown("dsl4")
    assert "pressure" in why_not_flown("x6p")
    assert why_not_flown("r200") == ""
    assert "words do not say" in why_not_flown("")
