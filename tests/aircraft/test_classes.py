"""A class fills the gaps: drawn aircraft are such as fly, agree with what is known, and say where they are from."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from aircraft_cases import NAMES, demo
from pydantic import ValidationError

from missionsim.aircraft.class_draw import ClassModel, Figures
from missionsim.aircraft.classes import KINDS, class_named, figures_of
from missionsim.aircraft.fit import fit_report
from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()
FLOWN = [name for name, kind in KINDS.items() if kind.flown]


def advertised(name: str, **more) -> Profile:
    return Profile.model_validate({"name": "x", "class": KINDS[name].words,
                                   "prices": {"asking_price_usd": "unknown"}, **more})


def drawn(name: str, count: int, **known) -> list:
    model, random, choice = ClassModel(name, known, A), np.random.default_rng(5), np.random.default_rng(6)
    found = model.drawn([random] * count, [choice] * count)
    return [Figures(*(getattr(found, f.name)[i] for f in fields(Figures))) for i in range(count)]


@pytest.mark.parametrize(("name", "known"), [("x6t", {}), ("r250", {"useful_lb": 1200.0}),
                                             ("f180", {"fuel_gal": 500.0})])
def test_aircraft_drawn_together_are_those_drawn_one_by_one(name, known):
    """With tanks of 500 gal no try is sound, and each is the likely one."""
    def pairs():
        return ([np.random.default_rng([stream, i]) for i in range(30)] for stream in (1, 2))

    model = ClassModel(name, known, A)
    together = model.drawn(*pairs())
    alone = [model.drawn([one], [choice]) for one, choice in zip(*pairs(), strict=True)]
    for f in fields(Figures):
        np.testing.assert_array_equal(getattr(together, f.name), [float(getattr(a, f.name)[0]) for a in alone])
    likely = np.all(together.fuel_gal == model.likely.fuel_gal) and np.all(together.climb_fpm == model.likely.climb_fpm)
    assert likely == (name == "f180")


@pytest.mark.parametrize("name", FLOWN)
def test_two_hundred_drawn_aircraft_of_a_class_are_such_as_fly(name):
    """Bounds from outside the recipe: speed for power and wing, stall by 14 CFR 23.49, climb for power loading."""
    kind = KINDS[name]
    for f in drawn(name, 200):
        assert 100.0 < f.cruise_kt / np.cbrt(0.75 * f.power_hp / f.wing_sqft) < 205.0
        assert kind.engines == 2 or f.vs0_kt <= 61.0
        climb = 33_000.0 * f.power_hp / f.weight_lb
        assert 0.15 * climb < f.climb_fpm < 0.62 * climb  # what is left after drag, with a propeller
        assert 0.28 < f.flow_gph * (6.7 if kind.jet_fuel else 6.0) / (0.75 * f.power_hp) < 0.62
        assert f.landing_roll_ft < f.landing_ft
        assert f.takeoff_roll_ft < f.takeoff_ft < 5_000.0
        assert 0.0 < f.weight_lb - f.empty_lb - 6.0 * f.fuel_gal < f.weight_lb / 2


@pytest.mark.parametrize("name", FLOWN)
def test_a_class_is_met_in_its_middle(name):
    """The median drawn aircraft is near the median type, where nothing is known."""
    of, many = figures_of(name), drawn(name, 200)
    for figure, value in (("mtow_lb", "weight_lb"), ("v75_ktas", "cruise_kt"), ("roc_sl_fpm", "climb_fpm"),
                          ("fuel_usgal", "fuel_gal"), ("to_50ft_ft", "takeoff_ft")):
        assert np.median([getattr(f, value) for f in many]) == pytest.approx(of[figure].likely, rel=0.12), figure


def test_what_is_known_stays_and_moves_what_goes_with_it():
    light, heavy = (drawn("f180", 200, power_hp=hp, useful_lb=985.0) for hp in (180.0, 200.0))
    assert {float(f.power_hp) for f in light} == {180.0}
    assert all(f.weight_lb - f.empty_lb == pytest.approx(985.0) for f in light)
    assert np.median([f.weight_lb for f in heavy]) > np.median([f.weight_lb for f in light])
    assert np.median([f.flow_gph for f in heavy]) == pytest.approx(
        200 / 180 * np.median([f.flow_gph for f in light]), rel=0.02)


@pytest.mark.parametrize(("name", "figure", "value", "window", "other"), [
    ("f180", "climb_fpm", 950.0, 0.03, "cruise_kt"), ("r250", "climb_fpm", 900.0, 0.03, "power_hp"),
    ("f180", "vs0_kt", 46.0, 0.02, "wing_sqft"), ("x6f", "takeoff_ft", 1450.0, 0.05, "weight_lb"),
    ("twl", "landing_ft", 1400.0, 0.06, "vs0_kt"), ("r200", "cruise_kt", 160.0, 0.02, "climb_fpm")])
def test_a_known_figure_tells_of_the_others_as_drawn_aircraft_that_have_it_do(name, figure, value, window, other):
    """Conditioning, held to counting: of many drawn with nothing known, those near the figure have the same middle."""
    free = drawn(name, 2_500)
    of = {key: np.array([float(getattr(f, key)) for f in free]) for key in (figure, other)}
    near = of[other][np.abs(of[figure] / value - 1.0) < window]
    assert len(near) > 60
    told = np.array([float(getattr(f, other)) for f in drawn(name, 400, **{figure: value})])
    error = 1.5 * np.hypot(np.std(near) / np.sqrt(len(near)), np.std(told) / 20.0)
    assert np.median(told) == pytest.approx(np.median(near), abs=2.5 * error)
    assert abs(np.median(near) - np.median(of[other])) > 2.0 * error     # and it does tell something
    likely = float(getattr(ClassModel(name, {figure: value}, A).likely, other))
    assert likely == pytest.approx(np.median(told), abs=0.35 * np.std(told))


def test_an_advertised_range_tells_of_the_tanks():
    """Between 0.5 and 1.05 of what full tanks give at economy cruise: f180 of 124 kt and 0.79 x 10.3 gal/h."""
    for f in drawn("f180", 100, range_nm=900.0):
        tanks_nm = f.fuel_gal / (0.79 * f.flow_gph) * f.cruise_kt
        assert 0.5 * tanks_nm <= 900.0 + 1e-6
        assert 1.05 * tanks_nm >= 900.0 - 1e-6
    assert np.median([f.fuel_gal for f in drawn("f180", 100, range_nm=900.0)]) > 54.0
    usual = [float(f.fuel_gal) for f in drawn("f180", 100, range_nm=620.0)]   # 0.8 of 50 gal: says little
    assert np.median(usual) == pytest.approx(50.0, abs=2.0)
    assert np.ptp(usual) > 10.0
    kept = drawn("f180", 100, range_nm=700.0, fuel_gal=40.0)
    assert all(0.5 <= 700.0 / (40.0 / (0.79 * f.flow_gph) * f.cruise_kt) <= 1.05 for f in kept)


@pytest.mark.parametrize("name", FLOWN)
def test_name_price_and_class_are_a_profile(name):
    p = advertised(name)
    performance_of(p, A)
    assert all(line.origin == "class guess" for line in fit_report(p, A))
    assert p.changed({}) == p
    assert p.origin("book.climb_fpm") == "class guess"
    assert p.engine.count == KINDS[name].engines
    assert p.changed({"book.climb_fpm": p.book.climb_fpm + 1.0}).origin("book.climb_fpm") == "typed"


def test_figures_that_are_given_are_kept_and_told_apart():
    p = advertised("f180", weights={"useful_load_lb": {"low": 950, "likely": 985, "high": 1010}},
                   engine={"rated_hp": 180, "hours_since_overhaul_h": "unknown"},
                   origins={"engine.rated_hp": "verified"},
                   book={"cruise": [{"tas_kt": 132}], "range": {"range_nm": 600}})
    origin = p.origins_of_figures()
    assert p.book.cruise[0].tas_kt == 132.0
    assert (origin["weights.useful_load_lb"], origin["engine.rated_hp"], origin["book.cruise.tas_kt"]) \
        == ("range", "verified", "typed")
    assert (origin["engine.hours_since_overhaul_h"], origin["book.cruise.level_ft"]) == ("unknown", "class guess")
    assert p.state.cruise_speed_of_book_share.likely == 0.97  # a speed without level or power is a claim


@pytest.mark.parametrize(("words", "said"), [
    ("pressurised single turboprop", "is a turboprop.*not modelled; accepted: two-seat light-sport"),
    ("lite twin", "is 'lite twin'; accepted: .*Did you mean 'light twin'"), (7, "is 7; accepted")])
def test_a_class_that_is_none_or_not_flown_is_one_fault(words, said):
    with pytest.raises(ValidationError, match=said) as caught:
        Profile.model_validate({"name": "x", "class": words})
    assert [e["loc"] for e in caught.value.errors()] == [("class",)]


def test_words_and_short_names_mean_the_class():
    assert class_named("  Four-seat  RETRACTABLE, 210-260 hp") == class_named("r250") == "r250"


@pytest.mark.parametrize("name", NAMES)
def test_nothing_is_filled_where_all_is_said(name):
    p = demo(name)
    assert p.class_words or p.class_guesses == ()


def test_a_turbocharged_aircraft_is_not_held_to_the_ceiling_of_a_class_without():
    """By hand: the middle of six-seat retractables goes to 17,850 ft, times 1.43; its other figures stay."""
    of = figures_of("x6r")["ceiling_ft"]
    model = ClassModel("x6r", {"boosted": 1.0}, A)
    assert float(model.likely.ceiling_ft) == pytest.approx(1.43 * of.likely)
    boosted = np.array([float(f.ceiling_ft) for f in drawn("x6r", 400, boosted=1.0)])
    turbo = figures_of("x6t")["ceiling_ft"]
    low, middle, high = np.quantile(boosted, (0.1, 0.5, 0.9))
    # The class of turbocharged six-seaters, whose percentiles the shares come from: within 5 % (draws and rejection).
    assert (low, middle, high) == pytest.approx((turbo.low, turbo.likely, turbo.high), rel=0.05)
    assert boosted.max() <= 30_000.0
    for plain, with_it in zip(drawn("x6r", 50), drawn("x6r", 50, boosted=1.0), strict=True):
        assert (plain.cruise_kt, plain.climb_fpm) == (with_it.cruise_kt, with_it.climb_fpm)
        assert plain.ceiling_ft < with_it.ceiling_ft


def test_a_profile_says_so_and_its_class_fills_a_ceiling_it_can_use():
    plain, boosted = advertised("r250"), advertised("r250", engine={"aspiration": "turbo"})
    assert boosted.book.service_ceiling_ft == pytest.approx(1.43 * figures_of("r250")["ceiling_ft"].likely, abs=1.0)
    assert float(performance_of(boosted, A).ceiling_ft(0.0, 2_500.0)) <= boosted.book.service_ceiling_ft
    assert plain.book.service_ceiling_ft < boosted.book.service_ceiling_ft
    twin = advertised("tmn", engine={"aspiration": "turbo"})
    assert twin.book.service_ceiling_ft == pytest.approx(1.35 * figures_of("tmn")["ceiling_ft"].likely, abs=1.0)
    said = advertised("r250", engine={"aspiration": "turbo"}, book={"service_ceiling_ft": 20_000})
    assert said.book.service_ceiling_ft == 20_000
