"""Where figures come from: told apart in the report and the printed object."""

from __future__ import annotations

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions
from missionsim.report.origins import WORDS, origin_of_figures, origins

A = packaged_assumptions()


def test_seven_origins_are_told_apart_and_no_figure_stands_twice():
    profile = Profile.model_validate({
        "name": "x", "class": "four-seat fixed gear, 180-200 hp", "prices": {"asking_price_usd": "unknown"},
        "weights": {"useful_load_lb": {"low": 950, "likely": 985, "high": 1010}},
        "engine": {"rated_hp": 180, "hours_since_overhaul_h": 540, "overhaul_year": "unknown"},
        "panel": {"approach": "lpv"},
        "origins": {"engine.rated_hp": "verified", "engine.hours_since_overhaul_h": "claimed"}})
    of = {o.words: o.figures for o in origins(profile, A)}
    assert set(of) == set(WORDS.values())
    assert of[WORDS["verified"]] == ("engine.rated_hp",)
    assert of[WORDS["claimed"]] == ("engine.hours_since_overhaul_h",)
    assert of[WORDS["range"]] == ("weights.useful_load_lb",)
    assert "engine.overhaul_year" in of[WORDS["unknown"]]
    assert "panel.approach" in of[WORDS["typed"]]
    assert {"prices.asking_price_usd", "book.climb_fpm", "engine.tbo_h"} <= set(of[WORDS["class drawn"]])
    assert {"identity.year", "book.landing.ground_roll_ft"} <= set(of[WORDS["class guess"]])
    assert "fit.flat-plate_drag_area" in of[WORDS["derived"]]
    every = [key for figures in of.values() for key in figures]
    assert len(every) == len(set(every)) == len(origin_of_figures(profile, A))
