"""Where the figures of each aircraft come from: typed, claimed, verified, a range, nobody's, its class, or the fit."""

from __future__ import annotations

from dataclasses import dataclass

from missionsim.aircraft.fit import derived
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.study.compare.compare import Comparison
from missionsim.study.unknowns.class_figures import drawn_keys

WORDS = {
    "verified": "seen in the papers", "typed": "written in the file, its source not said",
    "claimed": "a seller's claim", "range": "between two figures, drawn anew every year",
    "unknown": "nobody said; drawn anew every year from what is usual",
    "class drawn": "filled from its class, drawn anew every year", "class guess": "filled from its class, and stays",
    "derived": "worked out from the others by the fit"}
"""Origins in the order of trust, in plain words."""


@dataclass(frozen=True, slots=True)
class Origin:
    """One origin of figures of one aircraft: its words, and the figures by their dotted keys."""

    words: str
    figures: tuple[str, ...]


def origin_of_figures(profile: Profile, assumptions: Assumptions) -> dict[str, str]:
    """Return the origin of every figure of a profile by dotted key, what the fit worked out among them."""
    fit = (f"fit.{part.name.replace(' ', '_')}" for part in derived(profile, assumptions) if not part.assumed)
    return profile.origins_of_figures() | dict.fromkeys(fit, "derived")


def origins(profile: Profile, assumptions: Assumptions) -> tuple[Origin, ...]:
    """Return the origins that occur in a profile, those one can trust most first."""
    drawn = set(drawn_keys(profile))
    found: dict[str, list[str]] = {}
    for key, origin in origin_of_figures(profile, assumptions).items():
        found.setdefault("class drawn" if origin == "class guess" and key in drawn else origin, []).append(key)
    return tuple(Origin(WORDS[name], tuple(found[name])) for name in WORDS if name in found)


def origins_of_candidates(comparison: Comparison) -> list[tuple[str, tuple[Origin, ...]]]:
    """Return the origins of every candidate's figures by its name."""
    study = comparison.study
    return [(c.name, origins(c.profile, study.assumptions)) for c in study.candidates]
