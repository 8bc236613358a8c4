"""Which field of a town a light aircraft uses: open to the public, paved and lit, no airline hub, near the middle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.physics.geodesy import haversine_nm
from missionsim.world.airports.records import Airport

HUB = 2
"""The size of an airport that the open data call large: airlines and long taxiing, handling fees, hours to wait."""
_STEP_NM = 5.0
"""The middle of a town is known no better than this: nearer or farther by less says nothing. [nm]"""
_LEAST_OF_MIDDLE = 3
"""Of fewer public fields the private ones of a town are asked where it lies, too."""


@dataclass(frozen=True, slots=True)
class TownFields:
    """The airports of a town.

    Parameters
    ----------
    own : tuple of Airport    Those of the town, the one that a light aircraft would use first; never empty.
    near : tuple of Airport   Where none of its own is open to the public, or hubs alone: fields around it that are,
                              the one that a light aircraft would use first.
    """

    own: tuple[Airport, ...]
    near: tuple[Airport, ...] = ()

    @property
    def taken(self) -> Airport:
        """The one taken: a private field only where nothing around is open to the public."""
        return self.own[0] if self.own[0].public or not self.near else self.near[0]


def suits(airport: Airport, runway_ft: float) -> bool:
    """Tell whether a field is what a light aircraft looks for: public, no hub, a lighted paved runway long enough."""
    return airport.public and airport.size < HUB and airport.longest_ft(("paved",), lighted=True) >= runway_ft


def in_order(airports: Sequence[Airport], of_town: Sequence[bool], runway_ft: float, within_nm: float,
             ) -> tuple[Airport, ...]:
    """Return a town's airports with the one first that a light aircraft would use.

    The main one stays first unless it is a hub, or only bears the name of a town that has a field of its own. Then the
    one goes first that suits and lies nearest to the middle of the town's other fields, which is the town's to some
    miles; of those as near the larger, then that with the longer runway.

    Parameters
    ----------
    airports : sequence of Airport   The main public one first.
    of_town : sequence of bool       Whether each is the town's by its place, not by its name alone.
    runway_ft : float                Least lighted paved runway that suits. [ft]
    within_nm : float                How far from the middle it may lie. [nm]
    """
    main, by_name = airports[0], not of_town[0]
    if main.size < HUB and not by_name:
        return tuple(airports)
    middle = _middle(airports)
    fitting = [a for a, own in zip(airports, of_town, strict=True) if suits(a, runway_ft) and (own or not by_name)
               and _distance_nm(a, middle) <= within_nm]
    if not fitting:
        return tuple(airports)
    first = min(fitting, key=lambda a: (round(_distance_nm(a, middle) / _STEP_NM), -a.size, -longest_ft(a)))
    return (first, *(a for a in airports if a is not first))


def around(airports: Sequence[Airport], near: Sequence[Airport], runway_ft: float, most: int = 4,
           ) -> tuple[Airport, ...]:
    """Return the fields near a town that are open to the public and no hub, those that suit first, then by distance.

    Parameters
    ----------
    airports : sequence of Airport   The town's own.
    near : sequence of Airport       All around it, nearest first.
    runway_ft : float                Least lighted paved runway that suits. [ft]
    most : int                       How many at most.
    """
    own = {a.ident for a in airports}
    open_ = [a for a in near if a.public and a.size < HUB and a.ends and a.ident not in own]
    return tuple(sorted(open_, key=lambda a: not suits(a, runway_ft))[:most])


def longest_ft(airport: Airport) -> float:
    """Return the longest runway of any surface, 0 without one. [ft]"""
    return max((end.length_ft for end in airport.ends), default=0.0)


def field_words(airport: Airport) -> str:
    """Return what kind of field it is: who may land there, its longest runway and the surface of that."""
    best = max(airport.ends, key=lambda end: (end.surface == "paved", end.length_ft), default=None)
    runway = "no runway known" if best is None else f"{best.length_ft:,.0f} ft {best.surface.replace('_', ' ')}"
    kind = "airline hub" if airport.size >= HUB else "public" if airport.public else "PRIVATE, by leave alone"
    return f"{kind}, {runway}"


def _middle(airports: Sequence[Airport]) -> tuple[float, float]:
    """Return latitude and longitude amid a town's fields: hubs lie far outside, and of two no middle is told."""
    amid = [a for a in airports if a.public and a.size < HUB]
    if len(amid) < _LEAST_OF_MIDDLE:
        amid = [a for a in airports if a.size < HUB] or list(airports)
    return (float(np.median([a.latitude_deg for a in amid])), float(np.median([a.longitude_deg for a in amid])))


def _distance_nm(airport: Airport, place: tuple[float, float]) -> float:
    return float(haversine_nm(airport.latitude_deg, airport.longitude_deg, *place))
