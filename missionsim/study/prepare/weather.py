"""The weather side of a study: places and samples of the surface climate, gates and daylight of each candidate."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.aside import Keep, in_memory
from missionsim.base.assumptions import Assumptions
from missionsim.base.axes import equal
from missionsim.base.streams import StreamSet
from missionsim.decide.candidate_plan import CandidatePlan, Directions
from missionsim.decide.enroute_weather import WayPoints
from missionsim.decide.gate_plan import (
    Alternates,
    GateHours,
    GateLimits,
    GatePlan,
    GateRisks,
    GateThresholds,
)
from missionsim.decide.leg_weather import FieldLimits
from missionsim.decide.minima import LOOK_BEFORE_H, ahead_limit, at_hours, thresholds_for
from missionsim.physics.geodesy import haversine_nm
from missionsim.study.inputs.load_study import Study
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.candidates import Draft
from missionsim.study.prepare.itineraries import alternates
from missionsim.study.prepare.network import Places
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.prepare.runways import ends_of, plainly_long
from missionsim.study.prepare.weather_looks import Lights, Looks, forecasts_of, looks_of
from missionsim.study.prepare.weather_samples import Along, Samples, along_ways
from missionsim.world.ground.terrain import Terrain
from missionsim.world.random_fields.field_reading import Pairs
from missionsim.world.random_fields.hours import HOURS, hour_index
from missionsim.world.random_fields.windows import DAYS
from missionsim.world.surface.air import AskedHours, air_streams
from missionsim.world.surface.climate import AIRPORT, SAMPLE, SurfaceClimate
from missionsim.world.surface.place_climate import OwnStation
from missionsim.world.surface.year import AskedWeather
from missionsim.year.looked_slots import AIR_SLOTS
from missionsim.year.schedule import Schedule

WAITS_DAYS = 2
"""Days after an arrival whose weather is drawn with that of flights, for an aircraft that waits for it to clear."""
MENDED_DAYS = 4
"""And for one that is mended before it goes on or home: most repairs take less. More days would cost what they save."""


@dataclass(frozen=True)
class SkyPlan:
    """What the weather of every replication is looked up with.

    `climate`: surface climate of places and samples; `airport_row` [place]: row among the airports that flights begin
    or end at, -1 for those only looked at now and then. `points`: sample points along ways. `asked_hours`: those of
    airports that flights ask for; `asked`: what is read there of fields. `gates`, `fields`: one a candidate.
    """

    climate: SurfaceClimate
    airport_row: Ints
    points: WayPoints
    asked_hours: AskedHours
    asked: AskedWeather
    gates: tuple[GatePlan, ...]
    fields: tuple[FieldLimits, ...]

    def of_legs(self, legs: Ints, schedule: Schedule, plans: Sequence[CandidatePlan]) -> SkyPlan:
        """Return what some legs are looked up with: only their ways, forecasts and hours are kept.

        `schedule`, `plans`: as cut down to these legs.
        """
        nothing = np.zeros(0, dtype=np.int64)
        ways = np.unique(np.concatenate([nothing, *(g.way[legs] for g in self.gates)]))
        asked = np.unique(np.concatenate([nothing, *(g.asked(legs) for g in self.gates)]))
        points = self.points.some(self.climate, ways, asked)
        hours = _asked_hours(self.climate, self.airport_row, schedule, plans)
        cut = {id(g): g.of_legs(legs, ways, asked) for g in self.gates}
        gates = tuple(cut[id(g)] for g in self.gates)
        return replace(self, points=points, asked_hours=hours, gates=gates,
                       asked=_asked_weather(self.climate, hours, points, schedule, gates),
                       fields=tuple(f.of_legs(legs) for f in self.fields))


def choose_alternates(schedule: Schedule, places: Places, instrument: bool, a: Assumptions) -> Ints:
    """Return alternates of every place that a leg touches, [place, k] padded with -1; adds them to the places.

    Parameters
    ----------
    schedule : Schedule
    places : Places     Added to.
    instrument : bool   Whether any candidate flies on instruments.
    a : Assumptions
    """
    ends = sorted({*schedule.from_place.tolist(), *schedule.to_place.tolist()})
    count = int(a["flight.alternates_looked_at"]) if instrument else 2
    found = {p: alternates(places, p, count, a["flight.alternate_runway_ft"], a) for p in ends}
    chosen = np.full((len(places.airports), count), -1, dtype=np.int64)
    for p, rows in found.items():
        chosen[p, :len(rows)] = rows
    return chosen


def sky_plan(study: Study, schedule: Schedule, places: Places, drafts: Sequence[Draft], plans: Sequence[CandidatePlan],
             chosen: Ints, terrain: Terrain, keep: Keep = in_memory) -> SkyPlan:
    """Lay sample points along the ways of all candidates, and build the climate, gates and limits of each.

    Only airports that flights begin or end at keep their whole year; alternates and sample points are computed where
    asked.

    Parameters
    ----------
    study : Study
    schedule : Schedule
    places : Places
    drafts : sequence of Draft          One a candidate.
    plans : sequence of CandidatePlan   One a draft.
    chosen : (place, k) array           Alternates, padded with -1.
    terrain : Terrain
    keep : callable                     Where what is made stays: in memory, or laid aside.
    """
    sampled = Samples(len(places.airports), terrain)
    along = along_ways(schedule, drafts, plans, sampled)
    climate = keep(_climate(places, _whole_year(schedule, plans), sampled, study.assumptions, study.own_stations))
    airport_row = climate.latent_plan.airport_row[:len(places.airports)]
    ridge = np.array([False] * len(places.airports) + [bool(terrain.mountainous(*key)) for key in sampled.points])
    known: dict[tuple[bytes, bytes], Array] = {}
    limits = [_thresholds(plan, study.pilot, places, climate, ridge, known) for plan in plans]
    lights = Lights(places, study.year)
    looks = [keep(looks_of(plan, draft, study.pilot, schedule, climate, along.by_leg(way), own, lights))
             for plan, draft, way, own in zip(plans, drafts, along.way, limits, strict=True)]
    asked = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *(rows for look in looks for rows in look.asked())]))
    shared = _Shared(study.pilot, schedule, places, climate, chosen, asked)
    gates = _each_once([keep(_gates(shared, plan, way, own, look))
                        for plan, way, own, look in zip(plans, along.way, limits, looks, strict=True)])
    limits_there = tuple(keep(_field_limits(plan, draft, schedule, places, look))
                         for plan, draft, look in zip(plans, drafts, looks, strict=True))
    asked_hours = keep(_asked_hours(climate, airport_row, schedule, plans))
    points = keep(_way_points(climate, schedule, along, asked))
    return SkyPlan(climate, airport_row, points, asked_hours,
                   keep(_asked_weather(climate, asked_hours, points, schedule, gates)), gates, limits_there)


def _each_once(gates: Sequence[GatePlan]) -> tuple[GatePlan, ...]:
    """Return gates in which hours that are the same stand once, as all candidates leave in the same ones.

    Gates that are the same altogether are one object: an aircraft with its autopilot out mostly has those it had.
    """
    known: list[Ints] = []

    def once(hours: Ints) -> Ints:
        for same in known:
            if np.array_equal(same, hours):
                return same
        known.append(hours)
        return hours

    found: list[GatePlan] = []
    for gate in gates:
        own = replace(gate, hours=GateHours(*(once(getattr(gate.hours, f.name)) for f in fields(GateHours))))
        found.append(next((other for other in found if equal(other, own)), own))
    return tuple(found)


def _asked_weather(climate: SurfaceClimate, hours: AskedHours, points: WayPoints, schedule: Schedule,
                   gates: Sequence[GatePlan]) -> AskedWeather:
    """Return what of the fields is read in every replication, and drawn with it what alternates may ask for."""
    plan, looked = hours.plan, points.looked
    place = np.concatenate([plan.place, looked.place, points.asked_place])
    happens = np.concatenate([plan.hour, looked.hour])
    valid, issued = (np.concatenate([happens, then]) for then in (points.asked_valid, points.asked_issued))
    near = [_near(chosen, schedule) for chosen in gates[:1]]
    latent = climate.latent_plan.reading(place, valid, issued, near[0] if near else None)
    storm, air = climate.storm_plan.reading(looked.place, looked.hour, looked.hour), air_streams(climate)
    streams = tuple(own for own in (latent.streams, latent.seasons, storm.streams, storm.seasons, air, plan.streams,
                                    looked.layers.thickness.streams, looked.icing.streams) if own is not None)
    StreamSet.seated_together(streams)
    return AskedWeather(len(plan.place), len(looked.place), latent, storm, air, streams)


def _near(gates: GatePlan, schedule: Schedule) -> Pairs:
    """Return places, and hours of the days that are likely to be asked for when something comes between.

    Where legs lead and their alternates: when it is decided, on arrival, and for an aircraft that waits there. Both
    ends of a leg and home: for one that is mended, or fetched, and then flown home empty.
    """
    leg, column = np.nonzero(gates.open_)

    def days(hour: Ints) -> tuple[Ints, Ints]:
        # Whole days are drawn, and most hours of a leg's window share them.
        return np.divmod(np.unique(leg * DAYS + hour[leg, column] // 24), DAYS)

    (decides, decided), (arrives, arrived) = days(gates.hours.departure_i - LOOK_BEFORE_H), days(gates.hours.arrival_i)
    home = schedule.from_place[schedule.first_leg[schedule.trip]]
    ends = np.stack([schedule.to_place, schedule.from_place, home], axis=1)
    landing = np.concatenate([gates.alternates.place[schedule.to_place], ends[:, :1]], axis=1)
    asked = np.zeros((len(gates.alternates.place) + 1, DAYS), dtype=bool)      # the last row: of no alternate, -1
    asked[landing[decides], decided[:, None]] = True
    for places, most in ((landing, WAITS_DAYS), (ends, MENDED_DAYS)):
        for more in range(most + 1):
            asked[places[arrives], np.minimum(arrived + more, DAYS - 1)[:, None]] = True
    place, day = np.nonzero(asked[:-1])
    return place, 24 * day


def _asked_hours(climate: SurfaceClimate, airport_row: Ints, schedule: Schedule,
                 plans: Sequence[CandidatePlan]) -> AskedHours:
    """Return the hours in which flights leave and arrive, with time to spare for the wind of the day."""
    wanted = np.zeros((len(climate.latent_plan.airports), HOURS + 1), dtype=np.int32)
    for plan in plans:
        rows = plan.rows
        row, column = np.nonzero(schedule.looks.open_[rows.leg])
        leg = rows.leg[row]
        first = hour_index(schedule.start_h[leg] + rows.offset_h[row]) + schedule.looks.slot[leg, column]
        flight_h = plan.times.nominal_flight_h
        whole_h = np.maximum(flight_h, plan.times.nominal_block_h[rows.leg])
        spans = ((rows.from_place, first - 1, first + 2),
                 (rows.to_place, first + np.floor(0.5 * flight_h).astype(np.int64)[row] - 1,
                  first + np.ceil(2.0 * whole_h).astype(np.int64)[row] + 2))
        for place, start, stop in spans:
            at = airport_row[place[row]]
            np.add.at(wanted, (at, np.clip(start, 0, HOURS - 1)), 1)
            np.add.at(wanted, (at, np.clip(stop, 1, HOURS)), -1)
    return AskedHours.of(climate, np.cumsum(wanted[:, :HOURS], axis=1) > 0)


def _whole_year(schedule: Schedule, plans: Sequence[CandidatePlan]) -> list[int]:
    rows = {*schedule.from_place.tolist(), *schedule.to_place.tolist()}
    for plan in plans:
        rows.update(plan.rows.from_place.tolist(), plan.rows.to_place.tolist())
    return sorted(rows or {0})  # a generated year may have no trips; the aircraft stands at home all the same


def _climate(places: Places, whole_year: Sequence[int], sampled: Samples, a: Assumptions,
             own: Mapping[str, OwnStation]) -> SurfaceClimate:
    lat = [p.latitude_deg for p in places.airports] + [k[0] for k in sampled.points]
    lon = [p.longitude_deg for p in places.airports] + [k[1] for k in sampled.points]
    height = [p.elevation_ft for p in places.airports] + sampled.ground_ft
    names = [p.ident for p in places.airports] + [f"{k[0]:.1f},{k[1]:.1f}" for k in sampled.points]
    kind = np.full(len(lat), SAMPLE, dtype=np.int8)
    kind[list(whole_year)] = AIRPORT
    return SurfaceClimate.build(lat, lon, height, names, a, own, kind)


def _way_points(climate: SurfaceClimate, schedule: Schedule, along: Along, asked: Ints) -> WayPoints:
    """Return sample points with the airports first and last, and the hour at which each is passed."""
    leg = along.leg
    place = np.concatenate([schedule.from_place[leg][:, None], along.samples, schedule.to_place[leg][:, None]], axis=1)
    whole = np.concatenate([np.zeros((len(place), 1)), along.share, np.ones((len(place), 1))], axis=1)
    air_slot = np.arange(schedule.looks.air.shape[1])
    slot_h = AIR_SLOTS * air_slot + AIR_SLOTS / 2
    passed = schedule.start_h[leg][:, None, None] + slot_h[None, :, None] + (along.hours[:, None] * whole)[:, None, :]
    hour_i = np.clip(hour_index(passed), 0, HOURS - 1)
    used = (place >= 0)[:, None, :] & schedule.looks.air[leg][:, :, None]
    return WayPoints.of(climate, place, hour_i, used, forecasts_of(asked))


def _thresholds(plan: CandidatePlan, pilot: Pilot, places: Places, climate: SurfaceClimate, ridge: Bools,
                known: dict[tuple[bytes, bytes], Array]) -> dict[str, Array]:
    ceiling_ft, visibility_sm = (pilot_figure(pilot, f"visual_{name}", plan.assumptions)
                                 for name in ("ceiling_ft", "visibility_sm"))
    route_minimum = (ceiling_ft, visibility_sm)
    return thresholds_for(climate, plan.pilot.landing, plan.pilot.takeoff, route_minimum, len(places.airports), ridge,
                          known)


@dataclass(frozen=True)
class _Shared:
    """What the gates of all candidates rest on; `chosen`: alternates [place, k], `asked`: keys of all forecasts."""

    pilot: Pilot
    schedule: Schedule
    places: Places
    climate: SurfaceClimate
    chosen: Ints
    asked: Ints


def _gates(shared: _Shared, plan: CandidatePlan, way: Ints, limits: Mapping[str, Array], looks: Looks) -> GatePlan:
    schedule, climate, chosen, asked = shared.schedule, shared.climate, shared.chosen, shared.asked
    a, latent = plan.assumptions, climate.latent_plan
    leave, arrive = looks.hours.leave, looks.hours.arrive
    from_place, to_place = schedule.from_place[:, None], schedule.to_place[:, None]
    takeoff = at_hours(limits["takeoff"], climate, from_place, leave)
    landing = at_hours(limits["landing"], climate, to_place, arrive)
    planned = schedule.planned_column
    instrument, way_out = plan.pilot.rules.instrument, a["flight.chance_with_way_out_share"]
    missing, both, by_night = (pilot_figure(shared.pilot, f"chance_{name}_share", a)
                               for name in ("missing", "both_below", "visual"))
    # By day a visual pilot can turn back, as an instrument pilot can go to an alternate.
    risk = np.full(leave.shape, missing) if instrument else np.where(looks.hours.night, by_night, way_out)
    hop_h, hop_gal = _hops(plan, shared.places, chosen)
    route_looks = looks.route_looks
    return GatePlan(
        instrument=instrument, landing=plan.pilot.landing, takeoff=plan.pilot.takeoff,
        thresholds=GateThresholds(limits["takeoff"], limits["landing"], limits["as_alternate"]),
        risks=GateRisks(missing if instrument else way_out, both, a["flight.route_correlation"]),
        alternates=Alternates(chosen, np.rint(hop_h).astype(np.int64), hop_gal),
        visual_leg=looks.hours.visual, open_=looks.hours.open_,
        hours=GateHours(leave, arrive, latent.airport_row[from_place] * HOURS + leave,
                        latent.airport_row[to_place] * HOURS + arrive),
        limits=GateLimits(
            takeoff, landing, poor=at_hours(limits["no_alternate"], climate, to_place, arrive),
            no_approach=np.broadcast_to(~plan.pilot.landing.approach[schedule.to_place][:, None], leave.shape),
            blocked=ahead_limit(landing, looks.ahead.arrival.sd, risk),
            long_arrival=ahead_limit(landing[planned], looks.ahead.long_arrival.sd, risk[planned]),
            long_departure=takeoff[planned]),
        ahead=looks.ahead.among(asked), way=way, route_looks=None if route_looks is None else route_looks.among(asked))


def _hops(plan: CandidatePlan, places: Places, chosen: Ints) -> tuple[Array, Array]:
    """Return hours and fuel to every alternate, [place, k]."""
    lat = np.array([p.latitude_deg for p in places.airports])
    lon = np.array([p.longitude_deg for p in places.airports])
    other = np.maximum(chosen, 0)
    nm = haversine_nm(lat[:, None], lon[:, None], lat[other], lon[other])
    there = chosen >= 0
    return (np.where(there, plan.coarse.hours(nm, 0.0), 0.0), np.where(there, plan.coarse.gallons(nm, 0.0), 0.0))


def _field_limits(plan: CandidatePlan, draft: Draft, schedule: Schedule, places: Places, looks: Looks,
                  ) -> FieldLimits:
    """Return runways and daylight at both ends of legs.

    Pilots who do not fly at night accept no dark, and nobody does on a way flown visually among mountains.
    """
    def directions(column: Ints, landing: bool) -> Directions:
        touched, place = np.unique(column, return_inverse=True)
        airports = [places.airports[p] for p in touched.tolist()]
        good = plainly_long(draft.equipped, airports, landing, draft.rules, plan.assumptions)
        found = [ends_of(airport, landing)[0][ends] for airport, ends in zip(airports, good, strict=True)]
        return Directions.of(_as_columns([found[p] for p in place.tolist()]))

    leaving, landing = directions(schedule.from_place, False), directions(schedule.to_place, True)
    seen = looks.hours.visual[:, None] & plan.pilot.rules.instrument
    return FieldLimits(leaving, landing, looks.hours.night & (seen | (not plan.pilot.rules.night)))


def _as_columns(lists: list[Array]) -> Array:
    height = max((len(x) for x in lists), default=1) or 1
    out = np.full((height, len(lists)), np.nan)
    for i, x in enumerate(lists):
        out[:len(x), i] = x
    return out
