"""How much of a study's flights with one engine lies beyond gliding distance of land, in words for its reader."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from missionsim.base.arrays import Ints
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.gliding import below, beyond_nm
from missionsim.study.prepare.study import Flyer, Prepared
from missionsim.world.ground.water import Glide, Water

SHOWN = 3
"""Ways named in a sentence, the longest first."""
TAKE_ALONG = "life vests, raft, beacon and position reports are the least, and the pilot decides"


@dataclass(frozen=True, slots=True)
class Crossing:
    """A flight beyond gliding distance of land: its ends, how much of it and how long. [nm, h]; `level_ft`: where."""

    from_ident: str
    to_ident: str
    beyond_nm: float
    beyond_h: float
    level_ft: float


def open_water(*prepared: Prepared) -> tuple[str, ...]:
    """Return a sentence on flights with one engine beyond gliding distance of land, where there are any.

    Of a study that is prepared in parts, all parts.
    """
    worst: dict[tuple[str, str], Crossing] = {}
    for part in prepared:
        for flyer in part.flyers:
            for found in crossings(part, flyer):
                first, last = sorted((found.from_ident, found.to_ident))
                known = worst.get((first, last))
                if known is None or found.beyond_nm > known.beyond_nm:
                    worst[first, last] = found
    if not worst:
        return ()
    longest = sorted(worst.values(), key=lambda c: -c.beyond_nm)
    ways = ", ".join(f"{c.from_ident} to {c.to_ident} {c.beyond_nm:,.0f} nm ({c.beyond_h * 60.0:,.0f} min)"
                     for c in longest[:SHOWN])
    more = f" and {len(longest) - SHOWN} more ways" if len(longest) > SHOWN else ""
    return (f"Open water with one engine, beyond gliding distance of land: {ways}{more}. They are flown and counted "
            f"like any other: {TAKE_ALONG}; `open_water_nm` of the pilot sets a limit.",)


def crossings(prepared: Prepared, flyer: Flyer) -> Iterator[Crossing]:
    """Yield the first itineraries' flights of a candidate with one engine that leave gliding distance of land.

    Each pair of places and route once, at the level that is flown in calm standard air.
    """
    plan, glide = flyer.plan, Glide.assumed(prepared.study.assumptions)
    if flyer.candidate.profile.engine.count > 1:
        return
    rows, lanes = plan.rows, prepared.lane_sets[plan.rows.lane_set]
    planned = _first_rows(plan)
    for row in planned[np.unique(lanes.route[rows.lane[planned]], return_index=True)[1]].tolist():
        ends = tuple(prepared.places.airports[int(p[row])] for p in (rows.from_place, rows.to_place))
        level = calm_level(plan, row)
        if level is None:
            continue
        nm = float(beyond_nm(plan.table, row, below(lanes.routes[lanes.route[rows.lane[row]]], ends), glide)[level])
        if nm >= glide.least_nm:
            tas_kt = float(plan.table.coefficient["tas_kt"][0][row, level])
            yield Crossing(ends[0].ident, ends[1].ident, nm, nm / tas_kt,
                           float(plan.table.rows.levels_ft[row, level]))


def calm_level(plan: CandidatePlan, row: int) -> int | None:
    """Return the level that a flight takes in calm standard air, None where none is open to it."""
    limits = plan.level_limits
    open_ = limits.open_[row] & plan.table.usable[row]
    hours = np.where(open_, plan.table.still_air_h[row], np.inf)
    if not np.isfinite(hours).any():
        return None
    return int(np.argmax(hours <= np.nanmin(hours) * (1.0 + limits.spare_share)))


def _first_rows(plan: CandidatePlan) -> Ints:
    """Return the rows of the first itinerary of every leg."""
    options = plan.options
    chosen = options.of_leg[:, 0]
    chosen = chosen[chosen >= 0]
    return np.flatnonzero(np.isin(plan.rows.option, chosen))


def straight_water(study: Study) -> tuple[str, ...]:
    """Return a sentence on the open water that lies straight between places of a study, before anything is planned."""
    if all(c.profile.engine.count > 1 for c in study.candidates):
        return ()
    least_nm, found = float(study.assumptions["terrain.open_water_least_nm"]), {}
    for a, b in sorted(_pairs(study)):
        ends = [study.airports.find(ident) for ident in (a, b)]
        over = Water.packaged().below([(p.latitude_deg, p.longitude_deg) for p in ends])
        over_nm = 0.0 if over is None else float(over.part_nm[over.land_nm > 0.0].sum())
        if over_nm >= least_nm:
            found[a, b] = over_nm
    if not found:
        return ()
    longest = sorted(found, key=lambda pair: -found[pair])
    ways = ", ".join(f"{a} to {b} {found[a, b]:,.0f} nm" for a, b in longest[:SHOWN])
    more = f" and {len(longest) - SHOWN} more ways" if len(longest) > SHOWN else ""
    return (f"Open water on the straight way: {ways}{more}. `compare` flies one engine across it and tells how much is "
            "beyond gliding distance of land.",)


def _pairs(study: Study) -> set[tuple[str, str]]:
    """Return the pairs of places between which trips of a study lead, by their own identifiers, in order."""
    lists = [study.listed, *(member.listed for member in study.members)]
    legs = {leg for table in lists if table is not None for trip in table.trips for leg in pairwise(trip.stops)}
    demand = [*study.demand, *(line for member in study.members for line in member.demand)]
    legs |= {(study.home.ident, place) for line in demand for place in line.places}
    idents = {ident: study.airports.find(ident).ident for leg in legs for ident in leg}
    named = ((idents[a], idents[b]) for a, b in legs)
    return {(min(pair), max(pair)) for pair in named if pair[0] != pair[1]}
