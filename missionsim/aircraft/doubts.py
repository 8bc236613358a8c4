"""What a pilot would ask back on reading a profile, and what a twin does on one engine: said, never a limit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.aircraft.fitted import wing
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import Assumptions
from missionsim.physics.atmosphere import standard_density_ratio

REFERENCE_FT = 8000.0


def doubts(profile: Profile, assumptions: Assumptions) -> tuple[str, ...]:
    """Return what is too good, or too much, to be true, as questions."""
    found = []
    hp, most = profile.engine.rated_hp, assumptions["class_guess.most_hp_of_one"]
    if hp > most:
        found.append(f"{hp:g} hp from one piston engine: is it two engines of {hp / 2:g}, or a turbine?")
    if profile.book is not None:
        point = profile.book.cruise[0]
        area_sqft, _ = wing(profile, assumptions)
        power = np.cbrt(point.power_share * profile.total_hp / area_sqft)
        density, there = (float(standard_density_ratio(feet)) for feet in (REFERENCE_FT, point.level_ft))
        best = assumptions["class_guess.best_cruise_k"][_sort(profile)] * power * max(density / there, 1.0) ** (1 / 3)
        if point.tas_kt > best:
            used_hp = point.power_share * profile.total_hp
            found.append(f"{point.tas_kt:g} kt on {used_hp:.0f} hp at {point.level_ft:,.0f} ft is "
                         f"too good to be true: such types reach {best:.0f} kt at most; is it miles an hour?")
    return tuple(found)


def _sort(profile: Profile) -> str:
    return "twin" if profile.engine.count == 2 else profile.identity.gear


@dataclass(frozen=True, slots=True)
class OneEngine:
    """A twin on one engine at full weight, standard air; `accelerate_stop_ft` is low, likely, high at sea level."""

    climb_fpm: float
    ceiling_ft: float
    accelerate_stop_ft: tuple[float, float, float]


def one_engine(profile: Profile, assumptions: Assumptions) -> OneEngine | None:
    """Return what types of such power and weight do on one engine; None for a single or without book figures."""
    if profile.engine.count != 2 or profile.book is None:
        return None
    share, less = assumptions["class_guess.one_engine_climb"]
    climb = share * 33_000.0 * profile.engine.rated_hp / profile.max_takeoff_lb - less
    slope, start = assumptions["class_guess.one_engine_ceiling"][profile.engine.aspiration]
    low, likely, high = (f * profile.book.takeoff.over_50ft_ft for f in
                         assumptions["class_guess.accelerate_stop_factor"])
    return OneEngine(climb, max(slope * climb + start, 0.0) if climb > 0.0 else 0.0, (low, likely, high))
