"""Which class of aircraft an advertisement speaks of, from places, gear, power, engines, cabin and fuel."""

from __future__ import annotations

from missionsim.aircraft.classes import CLASS_WORDS
from missionsim.study.inputs.advertisement.read import Advertisement
from missionsim.study.inputs.advertisement.text import FoundWords

__all__ = ["CLASS_WORDS", "class_said"]

_SPEAK = ("engine.count", "identity.seats", "identity.gear", "engine.rated_hp", "identity.pressurised",
          "engine.aspiration", "engine.fuel", "turbine", "certificate", "construction", "use")


def class_said(ad: Advertisement) -> tuple[str, tuple[FoundWords, ...]]:
    """Return the class (a key of `CLASS_WORDS`, empty where the words do not decide) and the words that say so."""
    words = tuple(f for key in _SPEAK if (f := ad.source(key)) is not None)
    power = float(ad.get("engine.rated_hp") or 0.0)
    if ad.get("turbine"):
        return ("stu" if ad.get("identity.pressurised") is False else "stp"), words
    if ad.get("engine.count") == 2:
        return _twin(ad, power), words
    if ad.get("engine.fuel") == "jet_a":
        return "dsl4", words
    return _single(ad, power), words


def _twin(ad: Advertisement, power: float) -> str:
    if ad.get("identity.pressurised"):
        return "tmp"
    if power == 0.0 or power > 220.0:
        return "tmt" if ad.get("engine.aspiration") == "turbo" else "tmn" if power else ""
    return "twl"


def _single(ad: Advertisement, power: float) -> str:
    seats = int(ad.get("identity.seats") or 0)
    gear, turbo = ad.get("identity.gear"), ad.get("engine.aspiration") == "turbo"
    if ad.get("certificate") == "light sport" or seats == 2:
        return "trn2" if seats == 2 and ad.get("certificate") != "light sport" else "lsa2"
    if ad.get("identity.pressurised"):
        return "x6p"
    if ad.get("construction") == "composite" and power >= 275.0:
        return "c310"
    if seats >= 5 or power > 275.0:
        return _big(gear, turbo)
    return _four_seats(gear, power)


def _four_seats(gear: str | None, power: float) -> str:
    if gear is None or power == 0.0:
        return ""
    fixed = (("f160", 170.0), ("f180", 205.0), ("h235", 275.0))
    bounds = (("r200", 205.0), ("r250", 275.0)) if gear == "retractable" else fixed
    return next(name for name, most in bounds if power <= most)


def _big(gear: str | None, turbo: bool) -> str:
    if turbo:
        return "x6t"
    return {"retractable": "x6r", "fixed": "x6f"}.get(gear or "", "")
