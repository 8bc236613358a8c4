"""What the advertisement does not say, drawn anew in every replication.

A range of the listing is taken as the 10, 50 and 90 % points; a figure left out has a prior in the assumptions.
Uniforms are stratified: in every block of twenty replications each twentieth of a figure's range is met once, in an
order of its own. They are addressed by aircraft and figure, so that adding a candidate moves nobody's draws and two
candidates made from the same advertisement (with an upgrade, at another price) share theirs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from types import MappingProxyType
from typing import Any
from zlib import crc32

import numpy as np

from missionsim.aircraft.class_draw import ClassModel
from missionsim.aircraft.figures import UNKNOWN, Range, is_known, likely
from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Array, Bools
from missionsim.base.assumptions import Assumptions
from missionsim.base.normal import normal_quantile, skewed_at
from missionsim.base.streams import generators
from missionsim.base.words import Stream
from missionsim.study.unknowns.class_figures import (
    ALONE,
    LABELS,
    class_model,
    drawn_keys,
    drawn_values,
    least_crosswind,
    range_of,
)

BLOCK = 20
"""Replications over which a figure's range is covered once."""
TAIL_SHARE = 0.01
"""Nothing is drawn beyond this share at either end: an advertisement's range is not meant to reach to infinity."""
_Z90 = 1.2815515655446004

UNITS = {"_h": "h", "_lb": "lb", "_usd": "$", "_year": "year", "_psi_of_80": "psi of 80"}
YES_NO = ("no", "yes")
WORDS = {"engine.overhaul_kind": ("field", "shop", "factory"),
         "state.damage_history": ("none", "old_minor", "recent_major")}
"""Words of a figure in the order of their codes."""
NOT_COUNTED = frozenset({"state.hours_since_inspection_h"})
"""Figures that no computation uses in private flying; they are listed as unknown and never asked for."""


@dataclass(frozen=True, slots=True)
class Unsaid:
    """One figure that the advertisement leaves open.

    Parameters
    ----------
    key : str                  Dotted key of the profile.
    label : str                In plain words.
    unit : str                 As people read it; `year` for a calendar year; empty for a category or a share.
    categories : tuple of str  Words in the order of their codes; empty for a number.
    range : Range or None      What the advertisement does say; None where nothing.
    """

    key: str
    label: str
    unit: str
    categories: tuple[str, ...]
    range: Range | None


@dataclass(frozen=True)
class Listing:
    """One advertisement with its gaps, ready to be drawn; `unsaid` in the order of the profile."""

    profile: Profile
    year: int
    assumptions: Assumptions
    unsaid: tuple[Unsaid, ...]

    @classmethod
    def of(cls, profile: Profile, year: int, assumptions: Assumptions) -> Listing:
        """Return the listing of a profile; figures that make no difference to this aircraft are left out.

        Parameters
        ----------
        year : int   Calendar year of the purchase.
        """
        keys = drawn_keys(profile)
        alone = (Unsaid(key, *LABELS[key], (), range_of(profile, key, assumptions)) for key in keys if key in ALONE)
        said = (_unsaid(profile, key, assumptions) for key in _open_keys(profile))
        joint = (Unsaid(key, *LABELS[key], (), None) for key in keys if key not in ALONE)
        return cls(profile, year, assumptions, (*alone, *said, *joint))

    @cached_property
    def _class_model(self) -> ClassModel | None:
        """The class that fills gaps: finding its likely aircraft takes as long as drawing those of a chunk."""
        return class_model(self.profile, self.assumptions)

    def drawn(self, seed: int, replications: Sequence[int]) -> Drawn:
        """Return the figures of some replications."""
        values: dict[str, Array] = {}
        of_class = drawn_values(self.profile, self._class_model, seed, replications)
        alone = [figure.key for figure in self.unsaid if figure.key not in of_class]
        u = stratified_together(seed, replications, self.profile.name, alone)
        ranks = dict(zip(alone, zip(u, deviates(u), strict=True), strict=True))
        for figure in self.unsaid:
            values[figure.key] = of_class[figure.key] if figure.key in of_class else _quantile(
                self, figure, *ranks[figure.key], values)
        crosswind = "limits.demonstrated_crosswind_kt"
        if crosswind in values:
            values[crosswind] = np.maximum(values[crosswind], least_crosswind(self.profile, of_class,
                                                                              self.assumptions))
        return Drawn(self, len(replications), values)


@dataclass(frozen=True)
class Drawn:
    """Drawn figures of one candidate by replication: numbers, and codes of categories. `values` [key] is (n,)."""

    listing: Listing
    count: int
    values: Mapping[str, Array]

    def number(self, key: str, otherwise: float) -> Array:
        """Return a figure as drawn, else the profile's own number, else another value; (n,)."""
        if key in self.values:
            return self.values[key]
        return np.full(self.count, likely(self.listing.profile.figure(key), otherwise))

    def answer(self, key: str) -> Bools | None:
        """Return a yes-or-no figure as drawn, (n,); None where it was not."""
        return self.values[key] > 0.5 if key in self.values else None

    def profiles(self) -> Iterator[Profile]:
        """Return the profile of each replication with the drawn values in place.

        Copied without validation: every value is drawn inside the figure's bounds, and a check of all tables for each
        replication would take longer than flying it.
        """
        kinds = {f.key: f.categories for f in self.listing.unsaid}
        for i in range(self.count):
            sections: dict[str, dict[str, Any]] = {}
            for key, drawn in self.values.items():
                if key in LABELS and key in self.listing.profile.class_guesses:
                    continue
                section, _, name = key.partition(".")
                sections.setdefault(section, {})[name] = _as_said(kinds[key], float(drawn[i]))
            profile = self.listing.profile
            yield profile.model_copy(update={s: getattr(profile, s).model_copy(update=u) for s, u in sections.items()})


def stratified(seed: int, replications: Sequence[int], aircraft: str, key: str, stream: Stream = Stream.UNKNOWNS,
               ) -> Array:
    """Return uniforms of a figure by replication, (n,): each block of replications covers 0 to 1 evenly.

    A replication's value depends on its number alone, never on how many are run.

    Parameters
    ----------
    seed : int                       Of the study.
    replications : sequence of int   Any.
    aircraft : str                   Name of the aircraft; empty for the pilot.
    key : str                        Dotted key.
    stream : Stream
    """
    return stratified_together(seed, replications, aircraft, [key], stream)[0]


def stratified_together(seed: int, replications: Sequence[int], aircraft: str, keys: Sequence[str],
                        stream: Stream = Stream.UNKNOWNS) -> Array:
    """Return uniforms of some figures as `stratified` gives them, (key, n).

    Parameters
    ----------
    seed : int                       Of the study.
    replications : sequence of int   Any.
    aircraft : str                   Name of the aircraft; empty for the pilot.
    keys : sequence of str           Dotted keys.
    stream : Stream
    """
    numbers = np.asarray(replications, dtype=np.int64)
    out, address = np.empty((len(keys), len(numbers))), [crc32(f"{aircraft}|{key}".encode()) for key in keys]
    for block in sorted(set((numbers // BLOCK).tolist())):
        mine = numbers // BLOCK == block
        for own, random in zip(out, generators(seed, block, stream, np.array(address, dtype=np.int64)), strict=True):
            whole = (random.permutation(BLOCK) + random.random(BLOCK)) / BLOCK
            own[mine] = whole[numbers[mine] % BLOCK]
    return out


def prior_of(key: str, assumptions: Assumptions) -> Any:
    """Return the prior of a figure: low, likely and high, or shares by word."""
    return assumptions[_entry(key)]


def _entry(key: str) -> str:
    return "unknown." + key.replace(".", "_")


def _open_keys(profile: Profile) -> list[str]:
    weight = _weight_key(profile)
    absent = {"weights.empty_weight_lb", "weights.useful_load_lb"} - {weight}
    if profile.identity.gear == "fixed":
        absent.add("state.gear_serviced")
    if profile.panel.autopilot == "none":
        absent.add("panel.autopilot_works")
    if profile.engine.count == 1:
        absent.add("engine.second_hours_since_overhaul_h")
    return [key for key in profile.unknowns() if key not in absent and key not in NOT_COUNTED]


def _weight_key(profile: Profile) -> str | None:
    """Return which of empty weight and useful load the empty weight is taken from, if that one is open."""
    given = [(f"weights.{n}", getattr(profile.weights, n)) for n in ("empty_weight_lb", "useful_load_lb")]
    given = [(key, value) for key, value in given if value is not None]
    if any(is_known(value) for _, value in given):
        return None
    ranges = [key for key, value in given if isinstance(value, Range)]
    return ranges[0] if ranges else given[0][0]


def _unsaid(profile: Profile, key: str, assumptions: Assumptions) -> Unsaid:
    value = profile.figure(key)
    label = assumptions.entry(_entry(key)).what
    if isinstance(value, Range):
        return Unsaid(key, label, _unit(key), (), value)
    if isinstance(prior_of(key, assumptions), Mapping):
        return Unsaid(key, label, "", WORDS.get(key, YES_NO), None)
    return Unsaid(key, label, _unit(key), (), None)


def _unit(key: str) -> str:
    if key.startswith("state.months"):
        return "months"
    return next((unit for suffix, unit in UNITS.items() if key.endswith(suffix)), "")


def _as_said(categories: tuple[str, ...], value: float) -> Any:
    if not categories:
        return value
    return bool(value > 0.5) if categories == YES_NO else categories[int(value)]


def _quantile(listing: Listing, figure: Unsaid, u: Array, z: Array, before: Mapping[str, Array]) -> Array:
    if figure.range is not None and not figure.categories:
        points = (figure.range.low, figure.range.likely, figure.range.high)
        return _bounded(listing, figure.key, between_at(z, *points, money=figure.unit == "$"), _SAID)
    prior = prior_of(figure.key, listing.assumptions)
    if figure.categories:
        return _category(figure.categories, prior, u)
    values = between_at(z, *prior, money=figure.unit == "$")
    from_prior = _FROM_PRIOR.get(figure.key)
    return _bounded(listing, figure.key, from_prior(listing, values, before) if from_prior else values)


def _category(words: tuple[str, ...], shares: Mapping[str, float], u: Array) -> Array:
    weights = np.array([shares[word] for word in words])
    edges = np.cumsum(weights / weights.sum())[:-1]
    return np.searchsorted(edges, u, side="right").astype(np.float64)


def between_points(u: Array, low: float, middle: float, high: float, *, money: bool) -> Array:
    """Return the quantile of a figure whose 10, 50 and 90 % points are given; two halves joined at the median.

    Money above zero is log-normal in each half, everything else normal; the ends are cut at one percent.

    Parameters
    ----------
    u : array        Uniforms, 0 to 1.
    low : float      10 % point.
    middle : float   Median.
    high : float     90 % point.
    money : bool     Log-normal where above zero.
    """
    return between_at(deviates(u), low, middle, high, money=money)


def deviates(u: Array) -> Array:
    """Return the standard normal deviates of uniforms, the ends cut at one percent."""
    return normal_quantile(np.clip(u, TAIL_SHARE, 1.0 - TAIL_SHARE))


def between_at(z: Array, low: float, middle: float, high: float, *, money: bool) -> Array:
    """Return the figure of `between_points` at deviates; those of many figures are found in one go.

    Parameters
    ----------
    z : array                    Standard normal deviates.
    low, middle, high : float    As of `between_points`.
    money : bool                 Likewise.
    """
    if money and low > 0.0:
        return skewed_at(z, low, middle, high)
    z = z / _Z90
    return np.asarray(middle + z * np.where(z < 0.0, middle - low, high - middle), dtype=np.float64)


def _bounded(listing: Listing, key: str, values: Array, said: Mapping[str, tuple[float, float]] = MappingProxyType({}),
             ) -> Array:
    """Keep values inside what the profile accepts and what the calendar allows; `said`: wider for a range given."""
    if key.endswith("_year"):
        return np.clip(values, listing.profile.identity.year, listing.year)
    low, high = said.get(key) or _BOUNDS.get(key, (0.0, np.inf))
    return np.clip(values, low, high)


_BOUNDS = {
    "prices.asking_price_usd": (5_000.0, 3_000_000.0), "engine.tbo_h": (800.0, 4_000.0),
    "limits.demonstrated_crosswind_kt": (5.0, 35.0),
    "engine.hours_since_overhaul_h": (0.0, 6_000.0), "engine.second_hours_since_overhaul_h": (0.0, 6_000.0),
    "engine.compression_psi_of_80": (30.0, 80.0),
    "propeller.hours_since_overhaul_h": (0.0, 8_000.0), "state.airframe_hours_h": (0.0, 40_000.0),
    "state.hours_flown_per_year_h": (0.0, 1_500.0), "state.hours_since_oil_change_h": (0.0, 200.0),
    "state.months_since_annual": (0.0, 12.0), "state.open_directives_usd": (0.0, 100_000.0),
    "state.cruise_speed_of_book_share": (0.8, 1.1), "weights.empty_weight_lb": (400.0, 10_000.0),
    "weights.useful_load_lb": (150.0, 6_000.0)}
_SAID = {"state.months_since_annual": (0.0, 120.0), "engine.compression_psi_of_80": (0.0, 80.0)}
"""Bounds of a range that the advertisement gives, where what nobody said is held closer."""


def _tbo_h(listing: Listing) -> float:
    # The study's own figure where the profile has none is close enough for a prior: half of it, more or less.
    return listing.profile.engine.tbo_h or listing.assumptions["engine_life.tbo_h"]["four"]


def _hours_drawn(listing: Listing, before: Mapping[str, Array], otherwise: float) -> Array | float:
    return before.get("engine.hours_since_overhaul_h",
                      likely(listing.profile.engine.hours_since_overhaul_h, otherwise))


def _overhaul_year(listing: Listing, flown_h: Array, before: Mapping[str, Array]) -> Array:
    """Date an overhaul by the hours since then, at a pace between a hangar queen's and a busy owner's."""
    hours = _hours_drawn(listing, before, 0.5 * _tbo_h(listing))
    longest = listing.assumptions["unknown.overhaul_years_most"]
    return np.asarray(listing.year - np.minimum(hours / np.maximum(flown_h, 1.0), longest))


def _propeller_hours(listing: Listing, flown_h: Array, before: Mapping[str, Array]) -> Array:
    """Return what was flown since the propeller's overhaul; drawn before its year is, hence from the likely one."""
    age = listing.year - likely(listing.profile.propeller.overhaul_year,
                                listing.year - listing.assumptions["engine_life.unknown_propeller_years"])
    return np.asarray(max(age, 0.0) * flown_h)


def _brochure(listing: Listing) -> float:
    return listing.profile.weights.brochure_useful_load_lb or 0.0


_FROM_PRIOR: dict[str, Callable[[Listing, Array, Mapping[str, Array]], Array]] = {
    "engine.hours_since_overhaul_h": lambda listing, share, before: share * before.get("engine.tbo_h",
                                                                                       _tbo_h(listing)),
    "engine.second_hours_since_overhaul_h": lambda listing, share, before: share * before.get("engine.tbo_h",
                                                                                              _tbo_h(listing)),
    "engine.overhaul_year": _overhaul_year,
    "propeller.overhaul_year": lambda listing, age, _: np.asarray(listing.year - age),
    "propeller.hours_since_overhaul_h": _propeller_hours,
    "weights.useful_load_lb": lambda listing, below, _: _brochure(listing) - below,
    "weights.empty_weight_lb": lambda listing, below, _: (listing.profile.weights.max_takeoff_lb - _brochure(listing)
                                                          + below),
    "state.airframe_hours_h": lambda listing, flown_h, _: (listing.year - listing.profile.identity.year) * flown_h,
}
"""Figures whose prior is told relative to something else."""

__all__ = ["BLOCK", "NOT_COUNTED", "UNKNOWN", "Drawn", "Listing", "Unsaid", "between_at", "between_points", "deviates",
           "prior_of", "stratified", "stratified_together"]
