"""How much of an aircraft is known, and what we guess of it, with the range we draw it from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from pydantic import ValidationError

from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.base.errors import MissionsimError
from missionsim.money.cost_profile import cost_profile
from missionsim.page.study_file import document
from missionsim.report.wording import count, start
from missionsim.study.unknowns.draws import Listing, Unsaid

DRAWS = 100
"""Draws from which the range of a guess is told: its 10 and 90 % points."""
SAID = frozenset({"verified", "typed", "claimed"})


@dataclass(frozen=True, slots=True)
class Guess:
    """One figure that is open: what it is, what is taken for it in words, whether we guess it or its range is said."""

    label: str
    words: str
    ours: bool = True


@dataclass(frozen=True, slots=True)
class Known:
    """Figures of an aircraft by who said them, and our guesses of the others.

    `said`, `ranged`, `guessed`: how many figures are said, said as a range, and filled by us. `guesses`: those that are
    drawn anew every year, the ranges and some of what we fill; the others stay. `asked`: what to say of its price.
    """

    said: int
    ranged: int
    guessed: int
    guesses: tuple[Guess, ...]
    asked: str = ""

    @property
    def sentence(self) -> str:
        """The bar in words."""
        whole = self.said + self.ranged + self.guessed
        return (f"Of {count(whole, 'figure')} {self.said} are said, {self.ranged} as a range, {self.guessed} are "
                "guesses of ours; each answer you type shortens the open part.")

    @property
    def shares(self) -> tuple[float, float]:
        """Where what is said ends on the bar, and what is said as a range. [%]"""
        whole = max(self.said + self.ranged + self.guessed, 1)
        return 100.0 * self.said / whole, 100.0 * (self.said + self.ranged) / whole


def known_of(text: str, file: Path, year: int, assumptions: Assumptions) -> Known | None:
    """Return what is known of an aircraft by its file; None where the file is no whole aircraft yet.

    Parameters
    ----------
    text : str                  Of the file.
    file : Path
    year : int                  Of the purchase.
    assumptions : Assumptions   With those that the study replaces.
    """
    try:
        profile = Profile.model_validate(document(file, text).data)
        listing = Listing.of(profile, year, assumptions)
        drawn = listing.drawn(1, range(DRAWS)).values
        value = cost_profile(profile, year, assumptions).market_value
    except (ValidationError, MissionsimError):
        return None
    origins = profile.origins_of_figures()
    kinds = list(origins.values())
    said, ranged = sum(kind in SAID for kind in kinds), kinds.count("range")
    return Known(said, ranged, len(kinds) - said - ranged, tuple(
        replace(_guess(u, drawn), ours=origins.get(u.key) != "range") for u in listing.unsaid),
                 start(value.finding) + "." if value is not None and value.finding else "")


def _guess(unsaid: Unsaid, drawn: Mapping[str, Any]) -> Guess:
    values = np.asarray(drawn[unsaid.key], dtype=float)
    if unsaid.categories:
        shares = np.bincount(values.astype(int), minlength=len(unsaid.categories)) / len(values)
        order = [k for k in np.argsort(-shares, kind="stable") if shares[k] > 0.0]
        return Guess(unsaid.label, ", ".join(f"{unsaid.categories[k].replace('_', ' ')} {10 * shares[k]:.0f} in 10"
                                             for k in order if shares[k] >= 0.05))
    low, middle, high = np.quantile(values, [0.1, 0.5, 0.9])
    unit = "" if unsaid.unit in {"year", "$"} else unsaid.unit
    told = f"about {_figure(middle, unsaid.unit)} {unit}".strip()
    return Guess(unsaid.label, f"{told}, 8 of 10 from {_figure(low, unsaid.unit)} to {_figure(high, unsaid.unit)}")


def _figure(value: float, unit: str) -> str:
    if unit == "year":
        return f"{value:.0f}"
    return ("$" if unit == "$" else "") + (f"{value:,.0f}" if abs(value) >= 100.0 else f"{value:.3g}")
