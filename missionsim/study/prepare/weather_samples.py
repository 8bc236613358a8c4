"""Sample points along the ways of a study, where its weather is looked at; ways share what lies close together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.enroute_weather import TYPICAL_KT
from missionsim.study.prepare.candidates import Draft
from missionsim.study.prepare.network import LaneMaker
from missionsim.world.ground.routes import Route
from missionsim.world.ground.terrain import Terrain
from missionsim.year.schedule import Schedule

SAMPLE_NM = 60.0
"""Samples along a way are so far apart at least. [nm]"""
ROUND_DEG = 0.5
"""Low weather is gone round by so much to either side. [deg of latitude]"""
GRID_DEG = 0.5
"""In gentle country samples are taken on a grid this wide. [deg]"""


class LegSamples(NamedTuple):
    """By leg samples of its way with those beside [leg, k, 3], and the share of the way each stands for [leg, k]."""

    round_them: Ints
    share: Array


@dataclass(frozen=True)
class Along:
    """Ways flown and their samples: `way` by draft and leg; `samples`, `share` [way, k], padded with -1 and 0.

    `round_them` [way, k, 3]: each sample and those beside it, by which a visual pilot goes round, padded with -1; only
    the samples themselves where no visual pilot flies.
    """

    way: tuple[Ints, ...]
    leg: Ints
    hours: Array
    samples: Ints
    share: Array
    round_them: Ints

    def by_leg(self, way: Ints) -> LegSamples:
        """Return the samples of a candidate's legs by the way [leg] that each is looked at along."""
        return LegSamples(self.round_them[way], self.share[way])


def watched_ways(maker: LaneMaker, plan: CandidatePlan, schedule: Schedule) -> list[tuple[int, int, int]]:
    """Return by leg its ends, as rows of places, and which of the ways between them its weather is looked at along.

    Flights without a stop tell which ways have a level that no rule closes to the party.
    """
    rows, limits = plan.rows, plan.level_limits
    whole = (rows.from_place == schedule.from_place[rows.leg]) & (rows.to_place == schedule.to_place[rows.leg])
    there = np.flatnonzero(whole & limits.open_.any(axis=1))
    open_: dict[int, list[int]] = {}
    for leg, way in sorted(set(zip(rows.leg[there].tolist(), rows.way[there].tolist(), strict=True))):
        open_.setdefault(leg, []).append(way)
    ends = zip(schedule.from_place.tolist(), schedule.to_place.tolist(), schedule.people[schedule.trip].tolist(),
               strict=True)
    return [(f, t, maker.watched_way(f, t, n, open_.get(leg, ()))) for leg, (f, t, n) in enumerate(ends)]


def along_ways(schedule: Schedule, drafts: Sequence[Draft], plans: Sequence[CandidatePlan], sampled: Samples) -> Along:
    """Return the ways of all candidates, those that fly the same way sharing its samples.

    Parameters
    ----------
    schedule : Schedule
    drafts : sequence of Draft          One a candidate.
    plans : sequence of CandidatePlan   One a draft.
    sampled : Samples                   Takes the points that are new.
    """
    known: dict[tuple[int, tuple[int, ...]], int] = {}
    of_draft: list[Ints] = []
    hours: list[float] = []
    for draft, plan in zip(drafts, plans, strict=True):
        rows = []
        for leg, watched in enumerate(watched_ways(draft.maker, plan, schedule)):
            route = draft.maker.route_of(*watched)
            key = (leg, tuple(sampled.rows(route)))
            if key not in known:
                known[key] = len(known)
                hours.append(route.distance_nm / TYPICAL_KT + 0.25)
            rows.append(known[key])
        of_draft.append(np.array(rows, dtype=np.int64))
    samples, share = _padded([list(points) for _, points in known])
    beside = np.full((*samples.shape, 2), -1, dtype=np.int64)
    if any(not draft.rules.instrument for draft in drafts):
        for way, (_, points) in enumerate(known):
            beside[way, :len(points)] = [sampled.beside(points, k) for k in range(len(points))]
    return Along(tuple(of_draft), np.array([leg for leg, _ in known], dtype=np.int64), np.array(hours), samples, share,
                 np.concatenate([samples[:, :, None], beside], axis=2))


class Samples:
    """Sample points along ways, each kept once; ways there and back share theirs."""

    def __init__(self, first: int, terrain: Terrain) -> None:
        self.first, self.terrain = first, terrain
        self.points: dict[tuple[float, float], int] = {}
        self.ground_ft: list[float] = []

    def rows(self, route: Route) -> list[int]:
        """Return the rows of a route's samples, thinned to one in `SAMPLE_NM`.

        Between them the simulated field hardly changes, while each further point adds noise of its own that a pilot
        would fly around. Ground is that of the point among mountains flown over visually, and nearby elsewhere.
        """
        count = len(route.sample_lat)
        step = max(1, round(SAMPLE_NM / max(route.distance_nm / count, 1.0)))
        out = []
        for i in range(min(step // 2, count - 1), count, step):
            lat, lon = float(route.sample_lat[i]), float(route.sample_lon[i])
            out.append(self._row(lat, lon))
        return out

    def beside(self, points: Sequence[int], k: int) -> tuple[int, int]:
        """Return the samples to the left and the right of a way's k-th sample, -1 where mountains stand in the way."""
        known = list(self.points)
        here = known[points[k] - self.first]
        before, after = (known[points[min(max(k + d, 0), len(points) - 1)] - self.first] for d in (-1, 1))
        north, east = after[0] - before[0], (after[1] - before[1]) * np.cos(np.radians(here[0]))
        length = float(np.hypot(north, east))
        if length == 0.0:
            north, east, length = 0.0, 1.0, 1.0
        found = []
        for side in (-1.0, 1.0):
            lat = here[0] + side * ROUND_DEG * east / length
            lon = here[1] - side * ROUND_DEG * north / length / float(np.cos(np.radians(here[0])))
            steep = bool(self.terrain.mountainous(np.array([lat]), np.array([lon]))[0])
            found.append(-1 if steep else self._row(lat, lon))
        return found[0], found[1]

    def _row(self, lat: float, lon: float) -> int:
        key = self._place(lat, lon)
        if key not in self.points:
            self.points[key] = self.first + len(self.points)
            self.ground_ft.append(self._ground_ft(*key))
        return self.points[key]

    def _place(self, lat: float, lon: float) -> tuple[float, float]:
        """Return where the weather of a sample is taken: in gentle country on a half-degree grid that ways share."""
        if bool(self.terrain.mountainous(np.array([lat]), np.array([lon]))[0]):
            return round(lat, 1), round(lon, 1)
        return round(lat / GRID_DEG) * GRID_DEG, round(lon / GRID_DEG) * GRID_DEG

    def _ground_ft(self, lat: float, lon: float) -> float:
        """Return the ground that bases are held against: the ridge among mountains, else the lowest cell around.

        In gentle country cloud follows the ground, and its highest spot within five miles says nothing.
        """
        step = np.array([-1.0, 0.0, 1.0]) * self.terrain.cell_deg
        near = self.terrain.highest_ft(lat + step[:, None], lon + step[None, :])
        ridge = bool(self.terrain.mountainous(np.array([lat]), np.array([lon]))[0])
        return float(np.nan_to_num(near[1, 1] if ridge else np.nanmin(near) if np.isfinite(near).any() else 0.0))


def _padded(rows: list[list[int]]) -> tuple[Ints, Array]:
    width = max((len(r) for r in rows), default=1)
    samples = np.full((len(rows), width), -1, dtype=np.int64)
    share = np.zeros((len(rows), width))
    for i, r in enumerate(rows):
        samples[i, :len(r)] = r
        share[i, :len(r)] = (np.arange(len(r)) + 0.5) / max(len(r), 1)
    return samples, share
