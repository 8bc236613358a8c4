"""Proposed profiles are whole by their class: valid, marked, and never against the seller."""

from __future__ import annotations

import pytest
import yaml
from advertisement_cases import CASES, REFERENCE, TODAY

from missionsim import read_advertisement
from missionsim.aircraft.classes import KINDS, figures_of
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.study.inputs.advertisement.typical import why_not_flown
from missionsim.study.inputs.check import check_profile


def whole(text):
    proposal = read_advertisement(text, TODAY)
    return proposal, Profile.model_validate(yaml.safe_load(proposal.profile_text))


@pytest.mark.parametrize("case", [c for c in CASES if not read_advertisement(c.text, TODAY).not_flown_because],
                         ids=lambda c: c.name)
def test_every_advertisement_of_a_flown_class_becomes_a_whole_profile(case):
    proposal, profile = whole(case.text)
    check_profile("x", profile, packaged_assumptions(), 2026)
    for figure in proposal.figures:
        section, _, name = figure.key.partition(".")
        if not isinstance(figure.value, tuple) and section in ("identity", "state", "prices", "panel"):
            assert getattr(getattr(profile, section), name) == figure.value


def test_the_seller_is_never_overridden():
    proposal, profile = whole(REFERENCE[0].text)
    assert profile.weights.useful_load_lb == 905
    assert not {f.key for f in proposal.guesses} & {f.key for f in proposal.figures}
    assert {f.how for f in proposal.guesses} == {"class guess"}


def test_more_power_climbs_better():
    # 20 hp more in 2,520 lb and some: 0.60 x 33,000 x 20 / 2,600 = 152 fpm, less what the greater weight costs
    _, profile = whole("1990 four seat fixed gear 200 hp $100,000")
    assert 40 < profile.book.climb_fpm - figures_of("f180")["roc_sl_fpm"].likely < 160


def test_a_claimed_flow_says_the_power():
    # 8 gal/h x 6 lb / 0.46 lb/hp/h = 104 hp of 200: 0.52
    _, profile = whole("1990 four seat retractable 200 hp, cruise 135 kts at 8.0 gph $100,000")
    assert profile.book.cruise[0].power_share == pytest.approx(0.52)


def test_what_is_not_flown_is_said():
    assert [name for name in KINDS if why_not_flown(name)] == ["stp", "stu"]
    assert "turbine" in why_not_flown("stp")
    assert "words do not say" in why_not_flown("")


def test_what_the_seller_says_is_a_claim():
    _, profile = whole(REFERENCE[0].text)
    assert profile.origin("weights.useful_load_lb") == "claimed"
    assert profile.origin("state.airframe_hours_h") == "claimed"
    assert profile.origin("book.climb_fpm") == "class guess"
