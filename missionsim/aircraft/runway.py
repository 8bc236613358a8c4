"""Runway needed against runway there: surface, slope, wind and the pilot's margin; and which end to use.

Everything multiplies, the margin last. A distance of NaN ('not in the table') fits no runway.

References
----------
.. [1] FAA-H-8083-25, performance chapter: crosswind, wind and slope in take-off and landing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from missionsim.aircraft.profile import Profile
from missionsim.base.arrays import Bools, Indices
from missionsim.base.assumptions import Assumptions
from missionsim.base.short_rows import any_in_row
from missionsim.physics.units import FloatArray, real

SURFACES = ("paved", "gravel", "grass", "dirt", "snow_ice", "other")
"""Surface classes; arrays of surfaces hold positions in this tuple."""


@dataclass(frozen=True, slots=True)
class EndChoice:
    """The runway end chosen for each of n operations, or what stands in the way of all of them.

    At most one of the three `blocked` arrays is True in a row: surface before wind before length. `margin_ft` is
    available less required on the end chosen, negative where that is too short, NaN where nothing is known of it.
    """

    index: Indices
    ok: Bools
    blocked_by_surface: Bools
    blocked_by_wind: Bools
    blocked_by_length: Bools
    margin_ft: FloatArray


def surface_codes(surfaces: npt.ArrayLike) -> Indices:
    """Return the positions of surface words in `SURFACES`; unknown words count as 'other'."""
    words = np.asarray(surfaces)
    codes = [SURFACES.index(word) if word in SURFACES else len(SURFACES) - 1 for word in words.ravel().tolist()]
    return np.array(codes, dtype=np.intp).reshape(words.shape)


def accepted_surface(profile: Profile, surface_code: npt.ArrayLike) -> Bools:
    """Return whether the owner uses this aircraft on a surface."""
    accepted = np.array([surface in profile.limits.surfaces for surface in SURFACES])
    return accepted[np.asarray(surface_code, dtype=np.intp)]


def required_takeoff_ft(over_50ft_ft: npt.ArrayLike, surface_code: npt.ArrayLike, assumptions: Assumptions, *,
                        slope_share: npt.ArrayLike = 0.0, wet: npt.ArrayLike = False, margin: float | None = None,
                        ) -> FloatArray:
    """Return the runway wanted for a take-off.

    Parameters
    ----------
    over_50ft_ft : array       Distance over 50 ft on a level, dry, hard runway, wind counted. [ft]
    surface_code : int array   Position in `SURFACES`.
    slope_share : array        Rise over length in the direction of take-off; 0 where unknown. Down-slope earns nothing.
    wet : bool array           Wet surface.
    margin : float             The pilot's factor; left out, the assumption.

    Returns
    -------
    array                      [ft]
    """
    return _required(over_50ft_ft, surface_code, assumptions, "takeoff", np.maximum(real(slope_share), 0.0), wet,
                     margin)


def required_landing_ft(over_50ft_ft: npt.ArrayLike, surface_code: npt.ArrayLike, assumptions: Assumptions, *,
                        slope_share: npt.ArrayLike = 0.0, wet: npt.ArrayLike = False, margin: float | None = None,
                        ) -> FloatArray:
    """Return the runway wanted for a landing; as `required_takeoff_ft`, but a down-slope lengthens it. [ft]."""
    return _required(over_50ft_ft, surface_code, assumptions, "landing", np.maximum(-real(slope_share), 0.0), wet,
                     margin)


def _required(over_50ft_ft: npt.ArrayLike, surface_code: npt.ArrayLike, assumptions: Assumptions, kind: str,
              adverse_slope: FloatArray, wet: npt.ArrayLike, margin: float | None) -> FloatArray:
    table = assumptions[f"runway.{kind}_surface"]
    codes = np.asarray(surface_code, dtype=np.intp)
    surface = np.array([table[name] for name in SURFACES])[codes]
    rain = assumptions[f"runway.{kind}_wet"]
    wetness = np.where(np.asarray(wet, dtype=bool), np.where(codes == 0, rain["paved"], rain["other"]), 1.0)
    slope = 1.0 + assumptions["runway.slope_for_percent"] * 100.0 * adverse_slope
    return real(over_50ft_ft) * surface * wetness * slope * (assumptions["runway.margin"] if margin is None else margin)


def crosswind_limit_kt(profile: Profile, assumptions: Assumptions) -> float:
    """Return the crosswind the pilot accepts: a share of the demonstrated one, or of what the rules ask to show."""
    demonstrated = profile.limits.demonstrated_crosswind_kt
    if demonstrated is None and profile.book is not None and profile.book.vs0_cas_kt is not None:
        demonstrated = required_demonstration_kt(profile.book.vs0_cas_kt, assumptions)
    share = assumptions["runway.crosswind_of_demonstrated_share"]
    return float(share * (demonstrated or assumptions["runway.crosswind_kt"]))


def required_demonstration_kt(vs0_cas_kt: float, assumptions: Assumptions) -> float:
    """Return the least crosswind that certification asks to be demonstrated. [kt]."""
    return float(assumptions["runway.crosswind_of_stall_share"] * vs0_cas_kt)


def choose_end(headwind_kt: npt.ArrayLike, crosswind_kt: npt.ArrayLike, available_ft: npt.ArrayLike,
               required_ft: npt.ArrayLike, surface_accepted: npt.ArrayLike, crosswind_limit_kt: npt.ArrayLike,
               tailwind_limit_kt: npt.ArrayLike) -> EndChoice:
    """Choose a runway end for each operation: the most headwind among those that do, the most margin among equals.

    Parameters
    ----------
    headwind_kt, crosswind_kt : (n, m) arrays    Components on each end. Pad missing ends with available NaN. [kt]
    available_ft : (n, m) array                  Length; at landing less a displaced threshold. NaN: no such end. [ft]
    required_ft : (n, m) array                   Runway wanted in the wind of that end, margin included. [ft]
    surface_accepted : (n, m) bool array         Whether the owner uses the surface.
    crosswind_limit_kt, tailwind_limit_kt        Limits, numbers or (n, 1) arrays. [kt]

    Returns
    -------
    EndChoice
    """
    head, cross, there, need, accepted = np.broadcast_arrays(
        real(headwind_kt), real(crosswind_kt), real(available_ft), real(required_ft),
        np.asarray(surface_accepted, dtype=bool))
    exists = np.isfinite(there)
    surface, wind, good = _held(head, cross, there, need, accepted, crosswind_limit_kt, tailwind_limit_kt)
    with np.errstate(invalid="ignore"):
        margin = there - need
    # Rounded, so that two ends in the same calm are equal and the longer one wins.
    into_wind = np.round(head, 3) + 1e-9 * np.nan_to_num(margin)
    known = np.where(np.isfinite(margin), margin, -1e9)
    pool = np.where(surface.any(axis=-1, keepdims=True), surface, exists)
    pool = np.where(wind.any(axis=-1, keepdims=True), wind, pool)
    score = np.where(good.any(axis=-1, keepdims=True), np.where(good, into_wind, -np.inf),
                     np.where(pool, known, -np.inf))
    index = np.argmax(score, axis=-1)
    chosen = np.take_along_axis(margin, index[..., None], axis=-1)[..., 0]
    return EndChoice(index, np.asarray(good.any(axis=-1)), *_first_in_the_way(surface, wind, good), chosen)


def blocked_by(headwind_kt: npt.ArrayLike, crosswind_kt: npt.ArrayLike, available_ft: npt.ArrayLike,
               required_ft: npt.ArrayLike, surface_accepted: npt.ArrayLike, crosswind_limit_kt: npt.ArrayLike,
               tailwind_limit_kt: npt.ArrayLike) -> tuple[Bools, Bools, Bools]:
    """Return where surface, wind or length stands in the way on all ends, as `choose_end` says, without choosing.

    Parameters
    ----------
    headwind_kt : array                 Along the runway, against. [kt]
    crosswind_kt : (n, end) array       Wind across. [kt]
    available_ft : (n, end) array       Runway there is, NaN where there is no such end. [ft]
    required_ft : (n, end) array        Runway wanted, margin included. [ft]
    surface_accepted : (n, end) array   The aircraft may use it.
    crosswind_limit_kt : array          Most across. [kt]
    tailwind_limit_kt : array           Most from behind. [kt]
    """
    return _first_in_the_way(*_held(headwind_kt, crosswind_kt, available_ft, required_ft, surface_accepted,
                                    crosswind_limit_kt, tailwind_limit_kt))


def _held(headwind_kt: npt.ArrayLike, crosswind_kt: npt.ArrayLike, available_ft: npt.ArrayLike,
          required_ft: npt.ArrayLike, surface_accepted: npt.ArrayLike, crosswind_limit_kt: npt.ArrayLike,
          tailwind_limit_kt: npt.ArrayLike) -> tuple[Bools, Bools, Bools]:
    """Return which ends hold for their surface, of those for the wind, of those for the length too; (n, m) arrays."""
    available = real(available_ft)
    surface = np.asarray(surface_accepted, dtype=bool) & np.isfinite(available)
    wind = surface & (np.abs(crosswind_kt) <= crosswind_limit_kt) & (real(headwind_kt) >= -real(tailwind_limit_kt))
    with np.errstate(invalid="ignore"):
        return surface, wind, wind & (available - real(required_ft) >= 0.0)


def _first_in_the_way(surface: Bools, wind: Bools, good: Bools) -> tuple[Bools, Bools, Bools]:
    on_surface, in_wind, ok = (any_in_row(ends) for ends in (surface, wind, good))
    return ~on_surface, on_surface & ~in_wind, in_wind & ~ok
