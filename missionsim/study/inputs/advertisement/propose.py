"""A profile proposed from an advertisement: every figure with the words it came from, nothing invented beside them."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from typing import Any

import yaml
from pydantic import ValidationError

from missionsim.aircraft.profile import Profile
from missionsim.study.inputs.advertisement.classes import CLASS_WORDS, class_said
from missionsim.study.inputs.advertisement.questions import SellerQuestion, letter, questions_for
from missionsim.study.inputs.advertisement.read import Advertisement, read_words
from missionsim.study.inputs.advertisement.text import FoundWords
from missionsim.study.inputs.advertisement.typical import usual_figures, why_not_flown

AVGAS_LB_PER_GAL, JET_LB_PER_GAL = 6.0, 6.7
"""Only to turn a payload with full fuel back into a useful load."""

_PROFILE_KEYS = (
    "identity.year", "identity.gear", "identity.seats", "identity.pressurised",
    "weights.max_takeoff_lb", "weights.useful_load_lb", "weights.empty_weight_lb", "tanks.usable_gal",
    "book.cruise.tas_kt", "book.cruise.fuel_flow_gph", "book.cruise.level_ft", "book.cruise.power_share",
    "book.climb_fpm", "book.takeoff.ground_roll_ft", "book.takeoff.over_50ft_ft", "book.landing.ground_roll_ft",
    "book.landing.over_50ft_ft", "book.vs0_cas_kt", "book.service_ceiling_ft", "book.range.range_nm",
    "limits.demonstrated_crosswind_kt",
    "engine.count", "engine.rated_hp", "engine.cylinders", "engine.fuel", "engine.fuel_injected", "engine.aspiration",
    "engine.lean_of_peak", "engine.monitor", "engine.matched_injectors", "engine.tbo_h", "engine.hours_since_overhaul_h",
    "engine.overhaul_year", "engine.overhaul_kind", "engine.compression_psi_of_80",
    "propeller.blades", "propeller.constant_speed", "propeller.hours_since_overhaul_h", "propeller.overhaul_year",
    "panel.approach", "panel.ils_receiver", "panel.autopilot", "panel.autopilot_works", "panel.ads_b",
    "panel.weather_on_board", "panel.electronic_attitude", "panel.ice_protection", "panel.oxygen", "panel.shoulder_belts",
    "prices.asking_price_usd",
    "state.airframe_hours_h", "state.hours_flown_per_year_h", "state.months_since_annual", "state.damage_history",
    "state.logs_complete", "state.hangared", "state.coastal", "state.tank_sealant_good", "state.gear_serviced",
)
"""Keys of an aircraft profile an advertisement can fill, in the order of the file."""

_RENAMED = {"cruise_tas_kt": "book.cruise.tas_kt", "cruise_fuel_flow_gph": "book.cruise.fuel_flow_gph",
            "cruise_level_ft": "book.cruise.level_ft", "cruise_power_share": "book.cruise.power_share"}
_SAID_BY_HOURS = {"engine_hours_left_h", "engine_hours_since"}
"""What hours since overhaul, when taken from the same words, say already; that they count since new they do not."""
_SOLE = {"book.cruise.fuel_flow_gph", "book.cruise.level_ft", "book.cruise.power_share"}


@dataclass(frozen=True)
class Proposal:
    """What a profile could say on the word of an advertisement.

    Parameters
    ----------
    advertisement : Advertisement
    name : str
    class_id, class_words : str     Class of aircraft, empty where the words do not decide.
    class_from : tuple of FoundWords     The words that say so.
    figures : tuple of FoundWords        Figures a profile has a key for, in the order of the file.
    also : tuple of FoundWords           What was understood and has no key.
    questions : tuple of SellerQuestion   What is left to ask, most money first.
    """

    advertisement: Advertisement
    name: str
    class_id: str
    class_words: str
    class_from: tuple[FoundWords, ...]
    figures: tuple[FoundWords, ...]
    also: tuple[FoundWords, ...]
    questions: tuple[SellerQuestion, ...]

    @property
    def unread(self) -> tuple[str, ...]:
        """Clauses of the advertisement nothing was taken from."""
        return self.advertisement.unread

    @property
    def letter(self) -> str:
        """The questions as a message to the seller."""
        return letter(self.questions)

    @property
    def profile_text(self) -> str:
        """The proposed profile as YAML, each figure with its words beside it."""
        return _yaml(self)

    @property
    def not_flown_because(self) -> str:
        """Why no whole profile can be made of it; empty where one can."""
        return why_not_flown(self.class_id)

    @property
    def guesses(self) -> tuple[FoundWords, ...]:
        """What is usual for the class and a profile needs beside what is said; none where it cannot be flown."""
        profile, _ = self._whole
        return () if profile is None else usual_figures(profile)

    @property
    def misfits(self) -> tuple[str, ...]:
        """What the seller claims that fits no aircraft of its class, each with its key; empty where all fits."""
        return self._whole[1]

    @cached_property
    def _whole(self) -> tuple[Profile | None, tuple[str, ...]]:
        """The profile made whole by its class, or what stands in the way."""
        if self.not_flown_because:
            return None, ()
        try:
            return Profile.model_validate(yaml.safe_load(self.profile_text)), ()
        except ValidationError as error:
            said = (f"{'.'.join(str(part) for part in e['loc'])}: {e['msg']}" for e in error.errors(include_url=False))
            return None, tuple(dict.fromkeys(said))


def read_advertisement(text: str, today: date | None = None) -> Proposal:
    """Return a profile proposed from the free text of an advertisement, and what to ask the seller.

    Patterns of the trade's shorthand only: no network, no model, and no figure without words of the text.

    Parameters
    ----------
    text : str
    today : date, optional   Dates are read as seen from this day; None is the day of the call.

    Raises
    ------
    InputError               Empty, or far longer than any advertisement.
    """
    ad = read_words(text, today)
    class_id, words = class_said(ad)
    used, figures = _figures(ad)
    also = tuple(f for f in ad.found if f not in used)
    return Proposal(ad, _name(ad, class_id), class_id, CLASS_WORDS.get(class_id, ""), words, figures, also,
                    questions_for(ad, class_id))


def _figures(ad: Advertisement) -> tuple[list[FoundWords], tuple[FoundWords, ...]]:
    """Return the words used, and the figures for the profile's keys."""
    used: list[FoundWords] = []
    by_key: dict[str, FoundWords] = {}
    for found in ad.found:
        key = _RENAMED.get(found.key, found.key)
        if key in _PROFILE_KEYS and key not in by_key:
            used.append(found)
            by_key[key] = FoundWords(key, found.value, found.words, found.start, found.how, found.note)
    used += _worked_out(ad, by_key)
    used += [f for f in ad.found if f.key in _SAID_BY_HOURS and f.value != "new" and f.start == _start(by_key)]
    if "weights.useful_load_lb" in by_key and "weights.empty_weight_lb" in by_key:
        used.remove(next(f for f in ad.found if f.key == "weights.empty_weight_lb"))
        del by_key["weights.empty_weight_lb"]  # a profile takes one of the two
    if "book.cruise.tas_kt" not in by_key:
        by_key = {k: v for k, v in by_key.items() if k not in _SOLE}
        used = [f for f in used if _RENAMED.get(f.key) not in _SOLE]
    return used, tuple(by_key[key] for key in _PROFILE_KEYS if key in by_key)


def _start(by_key: Mapping[str, FoundWords]) -> int | None:
    hours = by_key.get("engine.hours_since_overhaul_h")
    return None if hours is None else hours.start


def _worked_out(ad: Advertisement, by_key: dict[str, FoundWords]) -> list[FoundWords]:
    """Add figures that follow from others the seller gives; return what they follow from and has no key of its own."""
    used = []
    payload, fuel = ad.source("payload_full_fuel_lb"), by_key.get("tanks.usable_gal")
    if payload is not None and fuel is not None and not {"weights.useful_load_lb", "weights.empty_weight_lb"} & set(by_key):
        lb = JET_LB_PER_GAL if ad.get("engine.fuel") == "jet_a" or ad.get("turbine") else AVGAS_LB_PER_GAL
        note = f"{payload.value:g} lb and {fuel.value:g} gal of fuel at {lb:g} lb"
        by_key["weights.useful_load_lb"] = FoundWords("weights.useful_load_lb", round(payload.value + lb * fuel.value), payload.words,
                                                 payload.start, "converted", note)
        used.append(payload)
    share, tbo = ad.source("engine_hours_of_tbo_share"), by_key.get("engine.tbo_h")
    key = "engine.hours_since_overhaul_h"
    if share is not None and tbo is not None and key not in by_key:
        by_key[key] = FoundWords(key, tuple(round(s * tbo.value) for s in share.value), share.words, share.start, "read as", share.note)
        used.append(share)
    price = ad.source("asking_price_range")
    if price is not None and "prices.asking_price_usd" not in by_key:
        by_key["prices.asking_price_usd"] = FoundWords("prices.asking_price_usd", price.value[1], price.words, price.start, "read as",
                                                  f"the middle of {price.value[0]:,.0f} to {price.value[2]:,.0f}")
        used.append(price)
    return used


def _name(ad: Advertisement, class_id: str) -> str:
    year, power = ad.get("identity.year"), ad.get("engine.rated_hp")
    kind = CLASS_WORDS.get(class_id, "aircraft").split(",", maxsplit=1)[0]
    count = "2 x " if ad.get("engine.count") == 2 else ""
    parts = [str(year) if year else "", kind, f"{count}{power:g} hp" if power else ""]
    return " ".join(p for p in parts if p)


# The profile as YAML


def _yaml(proposal: Proposal) -> str:
    lines = ["# Proposed from the words of an advertisement, which stand beside each figure. Check every one of them.",
             "# What is not here is filled from the class and drawn anew in every simulated year; `missionsim check` shows it.",
             "", f"name: {json.dumps(proposal.name)}"]
    if proposal.class_words:
        words = ", ".join(f'"{f.words}"' for f in proposal.class_from)
        lines += [f"class: {json.dumps(proposal.class_words)}", f"# worked out from {_one_line(words)}"]
    else:
        lines += ["# class: the words do not say what kind of aircraft it is"]
    if not any(f.key == "prices.asking_price_usd" for f in proposal.figures):
        lines += ["prices: {asking_price_usd: unknown}"]
    figures = list(_each_engine(proposal.figures))
    lines += _sections(figures)
    lines += _origins(figures)
    also = [f"#   {f.key}: {_plain(f.value)}  ({_comment(f)})" for f in proposal.also]
    lines += ["", "# Also said, for you to read; no figure of the profile:", *also] if also else []
    lines += ["", "# Not understood: " + _one_line("; ".join(proposal.unread))] if proposal.unread else []
    return "\n".join(lines) + "\n"


def _each_engine(figures: Sequence[FoundWords]) -> Iterator[FoundWords]:
    """Give the hours of a twin's engines each a figure of its own; of a single two numbers are a range."""
    twin = any(f.key == "engine.count" and f.value == 2 for f in figures)
    for figure in figures:
        pair = figure.value
        if twin and figure.key == "engine.hours_since_overhaul_h" and isinstance(pair, tuple) and len(pair) == 2 \
                and figure.how != "read as":
            yield replace(figure, value=pair[0])
            yield replace(figure, key="engine.second_hours_since_overhaul_h", value=pair[1])
        else:
            yield figure


def _origins(figures: Iterable[FoundWords]) -> list[str]:
    """Return what the seller claims, so that it stays apart from what the owner of the file types or has verified."""
    lines = [f"  {f.key.replace('tanks.usable_gal', 'tanks')}: claimed" for f in figures]
    return ["", "origins:  # write `verified` where you have seen the papers", *lines] if lines else []


def _sections(figures: Iterable[FoundWords]) -> list[str]:
    tree: dict[str, Any] = {}
    for figure in figures:
        *parents, name = figure.key.split(".")
        inner = tree
        for part in parents:
            inner = inner.setdefault(part, {})
        inner[name] = figure
    lines: list[str] = []
    for section, inner in tree.items():
        lines += ["", f"{section}:"]
        lines += _tank(inner) if section == "tanks" else _inner(inner, "  ")
    return lines


def _inner(tree: dict[str, Any], indent: str) -> list[str]:
    lines = []
    for name, value in tree.items():
        if isinstance(value, FoundWords):
            lines.append(_line(f"{indent}{name}: {_value(value)}", value))
        else:
            lines.append(f"{indent}{name}:")
            inner = _inner(value, indent + "    ")
            if name == "cruise":  # a list of points, here of one
                inner[0] = f"{indent}  - {inner[0].strip()}"
            lines += inner
    return lines


def _tank(inner: dict[str, Any]) -> list[str]:
    figure = inner["usable_gal"]
    return [_line(f"  - {{name: tanks, usable_gal: {figure.value:g}}}", figure)]


def _line(text: str, figure: FoundWords) -> str:
    return f"{text:<44}  # {_comment(figure)}"


def _comment(figure: FoundWords) -> str:
    note = f", {figure.how}" if figure.how != "said" else ""
    note += f": {figure.note}" if figure.note else ""
    return _one_line(f'"{figure.words}"{note}')


def _one_line(text: str) -> str:
    return "".join(c if c.isprintable() else " " for c in text)


def _value(figure: FoundWords) -> str:
    value = figure.value
    if figure.key.endswith(".hours_since_overhaul_h") and isinstance(value, tuple) and len(value) == 2:
        low, high = sorted(value)
        if low == high:
            return f"{low:g}"
        return f"{{low: {low:g}, likely: {(low + high) / 2:g}, high: {high:g}}}"
    return _plain(value)


def _plain(value: Any) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, tuple) and len(value) == 3 and all(isinstance(v, int | float) for v in value):
        return f"{{low: {value[0]:g}, likely: {value[1]:g}, high: {value[2]:g}}}"
    if isinstance(value, tuple):
        return json.dumps(value)
    if isinstance(value, int | float):
        return f"{value:.10g}"
    return str(value) if str(value).replace("_", "").isalnum() else json.dumps(value)
