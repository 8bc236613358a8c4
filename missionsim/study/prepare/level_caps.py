"""The heights above which a rule may close a level to an aircraft: ways are looked for below each of them."""

from __future__ import annotations

from dataclasses import dataclass

from missionsim.base.assumptions import Assumptions
from missionsim.flight.rules import HALF_HOUR_FT, highest_with_passengers_ft
from missionsim.physics.atmosphere import level_of_cabin_ft


@dataclass(frozen=True, slots=True)
class LevelCaps:
    """The ceiling of an aircraft and what may close levels below it to some of its flights.

    A way that is sought up to the ceiling alone may lead so high that passengers refuse it, while another round the
    high ground stays where they go along. So equipment that opens higher levels only ever adds ways. Aircraft with
    equal caps share their ways.

    Parameters
    ----------
    highest_ft : float           Highest level usable. [ft]
    lower_ft : tuple of float    Levels below that, ascending, below which other ways are looked for. [ft]
    with_passengers_ft : float   Highest level that any flight with passengers may use. [ft]
    """

    highest_ft: float
    lower_ft: tuple[float, ...]
    with_passengers_ft: float

    @classmethod
    def of(cls, highest_ft: float, cabin_differential_psi: float, a: Assumptions) -> LevelCaps:
        """Return the caps of an aircraft; rules of oxygen are read at the altitude inside its cabin.

        Parameters
        ----------
        highest_ft : float               Highest level usable. [ft]
        cabin_differential_psi : float   What the cabin holds over the air outside, 0 where not pressurised. [psi]
        a : Assumptions
        """
        seated_ft = a["flight.passengers_level_ft"]
        inside_ft = {float(x) for x in (a["flight.oxygen_free_ft"], seated_ft, HALF_HOUR_FT)}
        outside_ft = {_outside_ft(x, cabin_differential_psi) for x in inside_ft}
        # Low ways serve a pressurised aircraft, too, where it climbs badly or weather closes the high ones.
        every_ft = inside_ft | outside_ft | {float(a["flight.easy_mountain_level_ft"])}
        party_ft = _outside_ft(highest_with_passengers_ft(seated_ft), cabin_differential_psi)
        return cls(highest_ft, tuple(sorted(x for x in every_ft if x < highest_ft)), min(party_ft, highest_ft))

    def of_party_ft(self, people: int) -> float:
        """Return the highest level that a flight with so many on board, pilot included, may use. [ft]"""
        return self.highest_ft if people <= 1 else self.with_passengers_ft


def _outside_ft(inside_ft: float, differential_psi: float) -> float:
    """Return the level at which a cabin has an altitude inside; the same one where there is no pressure."""
    return level_of_cabin_ft(inside_ft, differential_psi) if differential_psi > 0.0 else inside_ft
