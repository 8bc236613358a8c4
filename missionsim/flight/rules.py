"""The rules a flight is planned by: 14 CFR part 91 as data, widened by the pilot's own limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class Rules:
    """Rules and limits of one pilot in one aircraft.

    The legal figures come from the assumptions file, where each names its paragraph; a pilot's own larger figure wins.
    """

    instrument: bool
    night: bool
    reserve_day_min: float
    reserve_night_min: float
    oxygen: bool
    oxygen_free_ft: float
    max_leg_h_with_passengers: float
    max_leg_h_alone: float
    max_flight_h_per_day: float
    max_duty_h: float
    runway_margin: float
    crosswind_share: float
    max_wind_kt: float
    max_gust_spread_kt: float
    max_tailwind_kt: float
    ceiling_addition_ft: float
    visibility_addition_sm: float

    def reserve_min(self, night: bool) -> float:
        """Return the final reserve in minutes at normal cruise."""
        return self.reserve_night_min if night else self.reserve_day_min

    def max_leg_h(self, people: ArrayLike) -> NDArray[np.float64]:
        """Return the longest comfortable flight by people on board, pilot included. [h]"""
        return np.where(np.asarray(people) > 1, self.max_leg_h_with_passengers, self.max_leg_h_alone)


def legal_reserve_min(assumptions: Assumptions, instrument: bool, night: bool) -> float:
    """Return the reserve the regulation asks for, in minutes at normal cruise.

    References
    ----------
    .. [1] 14 CFR 91.151 (visual: 30 by day, 45 by night) and 91.167 (instrument: 45).
    """
    if instrument:
        return float(assumptions["flight.reserve_instrument_min"])
    return float(assumptions["flight.reserve_visual_night_min" if night else "flight.reserve_visual_day_min"])


def alternate_required(has_approach: ArrayLike, ceiling_ft: ArrayLike, visibility_sm: ArrayLike,
                       ) -> NDArray[np.bool_]:
    """Tell whether an instrument flight must carry fuel to an alternate.

    Parameters
    ----------
    has_approach : bool or array        Destination has an instrument approach.
    ceiling_ft, visibility_sm : array   Worst forecast from one hour before to one hour after arrival.

    References
    ----------
    .. [1] 14 CFR 91.167(b), 91.169(b): at least 2,000 ft above the airport and 3 statute miles, with an approach.
    """
    good = (np.asarray(ceiling_ft) >= 2000) & (np.asarray(visibility_sm) >= 3)
    return ~(good & np.asarray(has_approach, dtype=bool))


def oxygen_hours(level_ft: float, hours_at_level_h: float) -> tuple[float, bool]:
    """Return hours for which the crew must use oxygen and whether passengers must be provided with it.

    References
    ----------
    .. [1] 14 CFR 91.211(a): above 12,500 to 14,000 ft the part beyond 30 minutes; above 14,000 ft the whole time;
       above 15,000 ft every occupant is provided with it. Cabin pressure altitude, unpressurised cabin.
    """
    if level_ft > 14_000:
        return hours_at_level_h, level_ft > 15_000
    if level_ft > 12_500:
        return max(0.0, hours_at_level_h - 0.5), False
    return 0.0, False


def oxygen_allows(level_ft: ArrayLike, hours_at_level_h: ArrayLike, oxygen: bool, oxygen_free_ft: float,
                  ) -> NDArray[np.bool_]:
    """Tell at which levels a flight may cruise. Without oxygen: to `oxygen_free_ft`, and 30 minutes to 14,000 ft.

    The half hour above 12,500 ft is used only where the pilot's own limit is not lower than 12,500 ft.
    """
    level = np.asarray(level_ft)
    if oxygen:
        return np.ones(np.broadcast(level, hours_at_level_h).shape, dtype=bool)
    half_hour = (level <= 14_000) & (np.asarray(hours_at_level_h) <= 0.5) & (oxygen_free_ft >= 12_500)
    return (level <= oxygen_free_ft) | half_hour


def inspection_due(flight_hours_since_h: ArrayLike, for_hire: bool) -> NDArray[np.bool_]:
    """Tell whether the hundred-hour inspection is due. Only aircraft operated for hire need it.

    References
    ----------
    .. [1] 14 CFR 91.409(b); up to 10 h over to reach the shop, counted against the next hundred.
    """
    return np.asarray(flight_hours_since_h) >= (100.0 if for_hire else np.inf)
