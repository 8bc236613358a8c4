"""Weather minima: what the airport's approach, the panel, the autopilot and the pilot allow together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from missionsim.base.arrays import Array, Bools
from missionsim.base.assumptions import Assumptions

FLYABLE: dict[str, dict[str, str]] = {
    # panel -> {approach at the airport: approach flown}; what is not listed is entered under visual rules
    "none": {},
    "vor": {"ils": "vor", "vor": "vor"},
    "ils": {"ils": "ils", "vor": "vor"},
    "lnav": {"ils": "ils", "lpv": "lnav", "lnav": "lnav", "vor": "vor"},
    "lpv": {"ils": "ils", "lpv": "lpv", "lnav": "lnav", "vor": "vor"},
}
PRECISION = frozenset({"ils", "lpv"})


@dataclass(frozen=True, slots=True)
class Minima:
    """Lowest ceiling above ground [ft] and visibility [sm] accepted, one entry a place.

    `precision` tells whether the approach flown has vertical guidance; `approach` whether there is one at all.
    """

    ceiling_ft: Array
    visibility_sm: Array
    precision: Bools
    approach: Bools


class VisualMinimum(NamedTuple):
    """Least ceiling above ground and visibility of one kind of flying, the same everywhere."""

    ceiling_ft: float
    visibility_sm: float


@dataclass(frozen=True, slots=True)
class Crew:
    """The parts of pilot and panel that set minima."""

    instrument: bool
    current: bool
    panel: str
    autopilot: bool
    ceiling_addition_ft: float
    visibility_addition_sm: float


def landing_minima(approach: Sequence[str], published_ceiling_ft: Sequence[float | None],
                   published_visibility_sm: Sequence[float | None], elevation_ft: Array,
                   mountainous: Bools, crew: Crew, assumptions: Assumptions) -> Minima:
    """Return landing minima by place.

    The default of each kind of approach is an assumption; an airport's own published figure wins; fields above
    6,000 ft among mountains get the high mountain minimum at least; the pilot's additions come on top, less what an
    autopilot takes off. A pilot without rating or currency lands under visual rules.

    Parameters
    ----------
    approach : sequence of str, by place           Kind of approach: `ils`, `lpv`, `lnav`, `vor` or none.
    published_ceiling_ft : sequence, by place      None where the open data have none. [ft]
    published_visibility_sm : sequence, by place   None where the open data have none. [sm]
    elevation_ft : (place,) array                  Of fields. [ft]
    mountainous : (place,) array                   Among mountains.
    crew : Crew                                    Who flies, with the own additions.
    assumptions : Assumptions

    References
    ----------
    .. [1] 14 CFR 91.155 (visual, 1,000 ft and 3 sm to land in surface airspace); the rest common practice.
    """
    instrument = crew.instrument and crew.current
    table = assumptions["flight.approach_minima"]
    ceilings, visibilities, precision, has = [], [], [], []
    for i, kind in enumerate(approach):
        flown = FLYABLE[crew.panel].get(kind, "none") if instrument else "none"
        ceiling_ft, visibility_sm = _one(flown, kind, published_ceiling_ft[i], published_visibility_sm[i], table,
                                         bool(mountainous[i]) and elevation_ft[i] > 6000, crew, assumptions)
        ceilings.append(ceiling_ft)
        visibilities.append(visibility_sm)
        precision.append(flown in PRECISION)
        has.append(flown != "none")
    return Minima(np.array(ceilings), np.array(visibilities), np.array(precision), np.array(has))


def _one(flown: str, kind: str, own_ceiling_ft: float | None, own_visibility_sm: float | None,
         table: dict[str, list[float]], high: bool, crew: Crew, assumptions: Assumptions) -> tuple[float, float]:
    if flown == "none":
        visual = assumptions["flight.visual_landing_minimum"]
        return visual[0], visual[1]
    ceiling_ft, visibility_sm = table[flown]
    if flown == kind:
        ceiling_ft = ceiling_ft if own_ceiling_ft is None else own_ceiling_ft
        visibility_sm = visibility_sm if own_visibility_sm is None else own_visibility_sm
    if high and own_ceiling_ft is None:
        floor = table["high_mountain"]
        ceiling_ft, visibility_sm = max(ceiling_ft, floor[0]), max(visibility_sm, floor[1])
    extra_ft, extra_sm = _extra(crew, assumptions)
    return ceiling_ft + extra_ft, visibility_sm + extra_sm


def _extra(crew: Crew, assumptions: Assumptions) -> tuple[float, float]:
    """Return what the pilot adds to published minima; under visual rules the minimum is the pilot's own already."""
    relief_ft = assumptions["flight.autopilot_minima_relief_ft"] if crew.autopilot else 0.0
    return max(crew.ceiling_addition_ft - relief_ft, 0.0), crew.visibility_addition_sm


def takeoff_minimum(crew: Crew, assumptions: Assumptions) -> VisualMinimum:
    """Return the least ceiling [ft] and visibility [sm] to depart: enough to come back for an instrument pilot."""
    if crew.instrument and crew.current:
        ceiling_ft, visibility_sm = assumptions["flight.instrument_departure_minimum"]
        relief_ft = assumptions["flight.autopilot_minima_relief_ft"] if crew.autopilot else 0.0
        return VisualMinimum(max(ceiling_ft - relief_ft, 200.0), visibility_sm)
    return VisualMinimum(*assumptions["flight.visual_landing_minimum"])


def alternate_minimum(precision: Bools, approach: Bools, assumptions: Assumptions,
                      ) -> tuple[Array, Array]:
    """Return the forecast ceiling [ft] and visibility [sm] a place needs to serve as alternate.

    References
    ----------
    .. [1] 14 CFR 91.169(c): precision 600 ft and 2 sm, non-precision 800 ft and 2 sm; without an approach, descent
       and landing under basic visual rules.
    """
    by_kind = assumptions["flight.alternate_minima"]
    table = np.array([by_kind["none"], by_kind["nonprecision"], by_kind["precision"]], dtype=float)
    found = table[np.where(precision, 2, np.where(approach, 1, 0))]
    return found[..., 0], found[..., 1]
