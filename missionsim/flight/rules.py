"""The rules a flight is planned by: 14 CFR part 91 as data, widened by the pilot's own limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from missionsim.base.arrays import Bools, Floats
from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class Rules:
    """Rules and limits of one pilot in one aircraft.

    The legal figures come from the assumptions file, where each names its paragraph; a pilot's own larger figure wins.
    `tolerance_share`: an own rule missed by no more than this is met marginally.
    `cabin_differential_psi`: what the cabin holds over the air outside; 0 for one that is not pressurised.
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
    max_wind_kt: float
    max_gust_spread_kt: float
    max_tailwind_kt: float
    tolerance_share: float = 0.0
    cabin_differential_psi: float = 0.0

    @property
    def marginal_runway_margin(self) -> float:
        """Runway margin within the tolerance; what the flight manual asks for, a margin of one, is never undercut."""
        return max(self.runway_margin * (1.0 - self.tolerance_share), min(self.runway_margin, 1.0))

    def reserve_min(self, night: bool) -> float:
        """Return the final reserve in minutes at normal cruise."""
        return self.reserve_night_min if night else self.reserve_day_min

    def max_leg_h(self, people: ArrayLike) -> Floats:
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


HALF_HOUR_FT = 14_000.0
"""Up to here a crew without oxygen may stay for half an hour (14 CFR 91.211). [ft]"""


def crew_oxygen_h(cabin_altitude_ft: ArrayLike, hours_h: ArrayLike) -> Floats:
    """Return for how long of the hours at a cabin pressure altitude the crew must use oxygen. [h]

    References
    ----------
    .. [1] 14 CFR 91.211(a)(1) and (2): above 12,500 to 14,000 ft the part beyond 30 minutes, above 14,000 ft all of it.
    """
    cabin_ft, hours = np.asarray(cabin_altitude_ft), np.asarray(hours_h, dtype=float)
    return np.where(cabin_ft > HALF_HOUR_FT, hours, np.where(cabin_ft > 12_500, np.maximum(hours - 0.5, 0.0), 0.0))


def oxygen_allows(level_ft: ArrayLike, hours_at_level_h: ArrayLike, oxygen: bool, oxygen_free_ft: float,
                  ) -> Bools:
    """Tell at which levels a flight may cruise. Without oxygen: to `oxygen_free_ft`, and 30 minutes to 14,000 ft.

    The half hour above 12,500 ft is used only where the pilot's own limit is not lower than 12,500 ft.

    Parameters
    ----------
    level_ft : array           Level. [ft]
    hours_at_level_h : array   Time at the level. [h]
    oxygen : bool              Oxygen for everybody is on board.
    oxygen_free_ft : float     The pilot's own limit without oxygen. [ft]
    """
    level = np.asarray(level_ft)
    if oxygen:
        return np.ones(np.broadcast(level, hours_at_level_h).shape, dtype=bool)
    return (level <= oxygen_free_ft) | ((crew_oxygen_h(level, hours_at_level_h) == 0.0) & (oxygen_free_ft >= 12_500))


def passengers_allow(level_ft: ArrayLike, hours_at_level_h: ArrayLike, people: ArrayLike, highest_ft: float,
                     ) -> Bools:
    """Tell at which levels a flight may cruise for its passengers' sake, oxygen on board or not; cabins unpressurised.

    Parameters
    ----------
    people : int or array     On board, pilot included; alone, the crew's rule is all there is.
    highest_ft : float        Highest level with passengers; from 12,500 ft on, half an hour to 14,000 ft comes on top.
    """
    brief = (crew_oxygen_h(level_ft, hours_at_level_h) == 0.0) & (highest_ft >= 12_500)
    return np.asarray((np.asarray(people) <= 1) | (np.asarray(level_ft) <= highest_ft) | brief)


def highest_with_passengers_ft(highest_ft: float) -> float:
    """Return the level above which `passengers_allow` opens nothing to a flight with passengers, however short. [ft]

    Parameters
    ----------
    highest_ft : float   Highest level with passengers. [ft]
    """
    return max(highest_ft, HALF_HOUR_FT) if highest_ft >= 12_500 else highest_ft


HUNDRED_H = 100.0


def inspection_due(flown_h: float, next_flights_h: float, due_at_h: float) -> bool:
    """Tell whether the hundred-hour inspection comes before the next flights, which would otherwise exceed it.

    Only aircraft operated for hire or used to instruct for hire need it; for others it is never due (infinity).

    Parameters
    ----------
    flown_h : float          Flight hours so far. [h]
    next_flights_h : float   Hours until the aircraft is next where it can be inspected. [h]
    due_at_h : float         Flight hours at which the inspection is due. [h]

    References
    ----------
    .. [1] 14 CFR 91.409(b): exceeded by 10 h at most, and only on the way to where it can be done.
    """
    return flown_h + next_flights_h > due_at_h


def next_inspection_h(done_at_h: float, due_at_h: float, interval_h: float = HUNDRED_H) -> float:
    """Return the flight hours at which the next inspection is due: what was flown in excess counts against it. [h]

    References
    ----------
    .. [1] 14 CFR 91.409(b): done at 106 h when it was due at 100 h, the next one is due at 200 h.
    """
    return min(done_at_h, due_at_h) + interval_h
