"""What the program covers, said before anybody leans on it, and what of a study lies beyond."""

from __future__ import annotations

from missionsim.study.inputs.load_study import Study
from missionsim.world.airports.table import Airport

SCOPE: tuple[tuple[str, str, str], ...] = (
    ("aircraft", "one or two piston engines, gasoline or diesel, pressurised or not, up to 12,500 lb, one pilot",
     "turbines are refused with the reason; their advertisements are still read"),
    ("places", "the contiguous United States: terrain, surface weather, winds aloft; airports "
     "and runways of North and Central America and the Caribbean",
     "elsewhere ground is not checked and weather is that of the nearest station, both said in the report; "
     "`minimum_altitude_ft` of an airport and a station file of your own (`weather_files`) tell more"),
    ("rules", "private flying under 14 CFR part 91; hire only as money, with the cautions of parts 119 and 135",
     "rules, prices and insurance of other countries are not known; every figure can be replaced under `assumptions`"),
    ("money", "US dollars of today", "sums in other currencies in an advertisement are shown and not converted"),
)
"""Subject, what is covered, and what happens beyond."""

_BEYOND_STATES = frozenset({"US-AK", "US-HI"})
_SHOWN = 6


def scope_line() -> str:
    """Return in one sentence what is covered."""
    return "Covered: " + "; ".join(f"{subject}: {covered}" for subject, covered, _ in SCOPE) + "."


def beyond(study: Study) -> tuple[str, ...]:
    """Return a sentence for each thing of a study that lies beyond what is covered, and what happens there."""
    idents = dict.fromkeys([study.home.ident, *_places(study)])
    outside = [airport for ident in idents if _is_outside(airport := study.airports.find(ident))]
    if not outside:
        return ()
    names = ", ".join(airport.ident for airport in outside[:_SHOWN])
    more = f" and {len(outside) - _SHOWN} more" if len(outside) > _SHOWN else ""
    return (f"Beyond what is covered: {names}{more}, outside the contiguous United States: {SCOPE[1][2]}.",)


def _places(study: Study) -> list[str]:
    lists = [study.listed, *(member.listed for member in study.members)]
    demand = [*study.demand, *(line for member in study.members for line in member.demand)]
    return [ident for trips in lists if trips is not None for ident in trips.places()] + \
        [place for line in demand for place in line.places]


def _is_outside(airport: Airport) -> bool:
    return not airport.region.startswith("US-") or airport.region in _BEYOND_STATES
