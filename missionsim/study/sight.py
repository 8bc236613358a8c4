"""The weather side of a study: places and sample points of the surface climate, gates and daylight of each candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.assumptions import Assumptions
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.itineraries import alternates
from missionsim.study.loader import Study
from missionsim.study.network import Places
from missionsim.study.prepare import Draft
from missionsim.study.runways import ends_of, plainly_long
from missionsim.world.routes import Route
from missionsim.world.surface_climate import AIRPORT, SAMPLE, SurfaceClimate
from missionsim.world.surface_places import OwnStation
from missionsim.world.terrain import Terrain
from missionsim.year.book import AIR_SLOTS, TripBook
from missionsim.year.candidate import CandidatePlan
from missionsim.year.gates import FIRST_HOUR, GatePlan, thresholds_for
from missionsim.year.layers import TYPICAL_KT, WayPoints
from missionsim.year.trips import TripTable
from missionsim.year.weather import FieldLimits

Array = NDArray[Any]
ALTERNATE_RUNWAY_FT = 3000.0
SAMPLE_NM = 60.0


@dataclass(frozen=True)
class SkyPlan:
    """What the weather of every replication is looked up with.

    `climate`: surface climate of places and samples; `dense` [place]: row among the airports with hourly series.
    `points`: sample points of legs. `gates`, `fields`: one a candidate.
    """

    climate: SurfaceClimate
    dense: NDArray[np.int64]
    points: WayPoints
    alternates: NDArray[np.int64]
    samples: NDArray[np.int64]
    sample_share: Array
    visual_leg: dict[str, NDArray[np.bool_]] = field(default_factory=dict)
    gates: tuple[GatePlan, ...] = ()
    fields: tuple[FieldLimits, ...] = ()
    pilot: Any = None
    assumptions: Any = None
    day: Any = None

    def finished(self, plans: Sequence[CandidatePlan], drafts: Sequence[Draft], book: TripBook, places: Places,
                 ) -> SkyPlan:
        """Return the plan with the gates and field limits of every candidate."""
        gates = tuple(_gates(self, plan, book, places) for plan in plans)
        limits = tuple(_field_limits(self, plan, draft, book, places, g)
                       for plan, draft, g in zip(plans, drafts, gates, strict=True))
        return replace(self, gates=gates, fields=limits)


def sky_plan(study: Study, table: TripTable, book: TripBook, places: Places, drafts: Mapping[str, Draft],
             terrain: Terrain) -> SkyPlan:
    """Choose alternates, lay sample points along legs and build the surface climate of all of them."""
    a = study.assumptions
    dense_places = len(places.airports)
    ends = sorted({*book.from_place.tolist(), *book.to_place.tolist()})
    instrument = any(d.rules.instrument for d in drafts.values())
    count = int(a["flight.alternates_looked_at"]) if instrument else 2
    found = {p: alternates(places, p, count, a["flight.alternate_radius_nm"], ALTERNATE_RUNWAY_FT) for p in ends}
    chosen = np.full((len(places.airports), count), -1, dtype=np.int64)
    for p, rows in found.items():
        chosen[p, :len(rows)] = rows
    draft = next(iter(drafts.values()))
    routes = [draft.maker.route_of(int(f), int(t)) for f, t in zip(book.from_place, book.to_place, strict=True)]
    sampled = _Samples(len(places.airports), terrain)
    rows = [sampled.rows(route) for route in routes]
    climate = _climate(places, dense_places, sampled, a, study.own_stations)
    dense = np.full(len(places.airports), 0, dtype=np.int64)
    dense[:] = climate.latent_plan.dense_row[:len(places.airports)]
    samples, share = _padded(rows)
    points = _way_points(book, routes, samples, share)
    visual = {name: np.array([d.maker.visual(int(f), int(t)) or not d.rules.instrument
                              for f, t in zip(book.from_place, book.to_place, strict=True)]) for name, d in drafts.items()}
    return SkyPlan(climate, dense, points, chosen, samples, share, visual, pilot=study.pilot, assumptions=a)


class _Samples:
    """Sample points along ways, each kept once; ways there and back share theirs."""

    def __init__(self, first: int, terrain: Terrain) -> None:
        self.first, self.terrain = first, terrain
        self.points: dict[tuple[float, float], int] = {}
        self.ground_ft: list[float] = []

    def rows(self, route: Route) -> list[int]:
        """Return the rows of a route's samples, thinned to one in `SAMPLE_NM`.

        Between them the simulated field hardly changes, while each further point adds noise of its own that a pilot
        would fly around. Ground is that of the point among mountains flown over by sight, and nearby elsewhere.
        """
        count = len(route.sample_lat)
        step = max(1, round(SAMPLE_NM / max(route.distance_nm / count, 1.0)))
        out = []
        for i in range(min(step // 2, count - 1), count, step):
            lat, lon = float(route.sample_lat[i]), float(route.sample_lon[i])
            key = (round(lat, 1), round(lon, 1))
            if key not in self.points:
                self.points[key] = self.first + len(self.points)
                self.ground_ft.append(self._ground_ft(lat, lon))
            out.append(self.points[key])
        return out


    def _ground_ft(self, lat: float, lon: float) -> float:
        """Return the ground that bases are held against: the ridge among mountains, else the lowest cell around.

        In gentle country cloud follows the ground, and its highest spot within five miles says nothing.
        """
        step = np.array([-1.0, 0.0, 1.0]) * self.terrain.cell_deg
        near = self.terrain.highest_ft(lat + step[:, None], lon + step[None, :])
        ridge = bool(self.terrain.mountainous(np.array([lat]), np.array([lon]))[0])
        return float(np.nan_to_num(near[1, 1] if ridge else np.nanmin(near) if np.isfinite(near).any() else 0.0))


def _climate(places: Places, dense_places: int, sampled: _Samples, a: Assumptions,
             own: Mapping[str, OwnStation]) -> SurfaceClimate:
    lat = [p.latitude_deg for p in places.airports] + [k[0] for k in sampled.points]
    lon = [p.longitude_deg for p in places.airports] + [k[1] for k in sampled.points]
    height = [p.elevation_ft for p in places.airports] + sampled.ground_ft
    names = [p.ident for p in places.airports] + [f"{k[0]:.1f},{k[1]:.1f}" for k in sampled.points]
    kind = np.full(len(lat), SAMPLE, dtype=np.int8)
    kind[:len(places.airports)] = AIRPORT
    return SurfaceClimate.build(lat, lon, height, names, a, own, kind)


def _padded(rows: list[list[int]]) -> tuple[NDArray[np.int64], Array]:
    width = max((len(r) for r in rows), default=1)
    samples = np.full((len(rows), width), -1, dtype=np.int64)
    share = np.zeros((len(rows), width))
    for i, r in enumerate(rows):
        samples[i, :len(r)] = r
        share[i, :len(r)] = (np.arange(len(r)) + 0.5) / max(len(r), 1)
    return samples, share


def _way_points(book: TripBook, routes: Sequence[Route], samples: NDArray[np.int64], share: Array) -> WayPoints:
    """Return sample points with the airports first and last, and the hour at which each is passed."""
    place = np.concatenate([book.from_place[:, None], samples, book.to_place[:, None]], axis=1)
    whole = np.concatenate([np.zeros((len(place), 1)), share, np.ones((len(place), 1))], axis=1)
    hours = np.array([r.distance_nm for r in routes]) / TYPICAL_KT + 0.25
    slot_h = AIR_SLOTS * np.arange(book.slots // AIR_SLOTS) + AIR_SLOTS / 2
    passed = book.start_h[:, None, None] + slot_h[None, :, None] + (hours[:, None] * whole)[:, None, :]
    return WayPoints(place, np.floor(passed).astype(np.int64) + FIRST_HOUR)


def _gates(sky: SkyPlan, plan: CandidatePlan, book: TripBook, places: Places) -> GatePlan:
    a, pilot = plan.assumptions, sky.pilot
    depart_h = book.start_h[:, None] + np.arange(book.slots)[None, :]
    leave = np.floor(depart_h).astype(np.int64) + FIRST_HOUR
    arrive = np.floor(depart_h + plan.nominal_block_h[:, None]).astype(np.int64) + FIRST_HOUR
    route_minimum = (float(pilot.visual_ceiling_ft), float(pilot.visual_visibility_sm))
    thresholds = thresholds_for(sky.climate, plan.landing, plan.takeoff_minimum, route_minimum, len(places.airports))
    flight = plan.coarse
    hop_h, hop_gal = np.zeros(sky.alternates.shape), np.zeros(sky.alternates.shape)
    airports = places.airports
    for p, k in zip(*np.nonzero(sky.alternates >= 0), strict=True):
        x, y = airports[p], airports[int(sky.alternates[p, k])]
        nm = haversine_nm(x.latitude_deg, x.longitude_deg, y.latitude_deg, y.longitude_deg)
        hop_h[p, k], hop_gal[p, k] = float(flight.hours(nm, 0.0)), float(flight.gallons(nm, 0.0))
    return GatePlan(
        **thresholds, approach=plan.landing.approach, instrument=plan.rules.instrument, departure_i=leave,
        arrival_i=arrive, alternates=sky.alternates, alternate_h=hop_h, alternate_gal=hop_gal, samples=sky.samples,
        sample_share=sky.sample_share, visual_leg=sky.visual_leg[plan.name], landing_minima=plan.landing,
        takeoff_minimum=plan.takeoff_minimum, risk_destination=float(pilot.chance_missing_share),
        risk_both=float(pilot.chance_both_below_share), risk_visual=float(pilot.chance_visual_share),
        route_correlation=a["flight.route_correlation"])


def _field_limits(sky: SkyPlan, plan: CandidatePlan, draft: Draft, book: TripBook, places: Places, gates: GatePlan,
                  ) -> FieldLimits:
    headings: dict[tuple[int, bool], Array] = {}

    def known(place: int, landing: bool) -> Array:
        if (place, landing) not in headings:
            airport = places.airports[place]
            good = plainly_long(draft.equipped, airport, landing, draft.rules, plan.assumptions)
            headings[place, landing] = ends_of(airport, landing)[0][good] if len(good) else np.zeros(0)
        return headings[place, landing]

    ends = [[known(int(p), landing) for p in column]
            for column, landing in ((book.from_place, False), (book.to_place, True))]
    dark = np.zeros(gates.departure_i.shape, dtype=bool)
    return FieldLimits(_as_rows(ends[0]), _as_rows(ends[1]), dark)


def _as_rows(lists: list[Array]) -> Array:
    width = max((len(x) for x in lists), default=1) or 1
    out = np.full((len(lists), width), np.nan)
    for i, x in enumerate(lists):
        out[i, :len(x)] = x
    return out
