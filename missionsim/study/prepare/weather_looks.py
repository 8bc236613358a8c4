"""What each candidate asks of forecasts: ahead of its legs, and along the ways that are flown visually."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.decide.candidate_plan import CandidatePlan
from missionsim.decide.gate_plan import Ahead, ForecastKeys, LooksAhead, RouteLooks
from missionsim.decide.minima import LEAST_SD, LOOK_AHEAD_H, LOOK_BEFORE_H, at_hours
from missionsim.study.inputs.schema import Pilot
from missionsim.study.prepare.candidates import Draft
from missionsim.study.prepare.network import Places
from missionsim.study.prepare.pilot import pilot_figure
from missionsim.study.prepare.weather_samples import LegSamples, watched_ways
from missionsim.world.daylight import Daylight
from missionsim.world.random_fields.hours import HOURS, hour_index
from missionsim.world.surface.climate import SurfaceClimate
from missionsim.year.schedule import Schedule

HIGH_FT = 10_000.0
"""Above this visual flight wants more visibility (14 CFR 91.155). [ft]"""
MOST_AHEAD_H = 1024
"""Forecasts reach less far ahead than this; part of the key that names one. [h]"""


def forecast_keys(place: Array, valid: Array, issued: Array) -> Ints:
    """Return one number for a forecast: place, hour looked at and hours ahead."""
    return np.asarray((place * HOURS + valid) * MOST_AHEAD_H + np.minimum(valid - issued, MOST_AHEAD_H - 1))


def forecasts_of(keys: Ints) -> tuple[Ints, Ints, Ints]:
    """Return place, hour looked at and hour of looking."""
    spot, ahead = np.divmod(keys, MOST_AHEAD_H)
    place, valid = np.divmod(spot, HOURS)
    return place, valid, valid - ahead


@dataclass
class Lights:
    """Daylight of the places of a study, each worked out once."""

    places: Places
    year: int
    _known: dict[int, Daylight] = field(default_factory=dict)

    def out(self, schedule: Schedule, block_h: Array, wanted: Bools) -> Bools:
        """Return legs and slots that begin or end in the dark, of the legs wanted; day is civil dawn to civil dusk."""
        dark = np.zeros(schedule.looks.slot.shape, dtype=bool)
        depart_h = schedule.start_h[:, None] + schedule.looks.slot
        for leg in np.flatnonzero(wanted).tolist():
            for place, time_h in ((int(schedule.from_place[leg]), depart_h[leg]),
                                  (int(schedule.to_place[leg]), depart_h[leg] + block_h[leg])):
                if place not in self._known:
                    airport = self.places.airports[place]
                    self._known[place] = Daylight.at(airport.latitude_deg, airport.longitude_deg, self.year)
                dark[leg] |= self._known[place].is_dark(time_h)
        return dark


@dataclass(frozen=True)
class LegHours:
    """When a candidate flies legs: index of the hour of leaving and arriving, whether it may be, whether in the dark.

    Arrays [leg, slot], but `visual`: the leg is flown visually.
    """

    leave: Ints
    arrive: Ints
    open_: Bools
    visual: Bools
    night: Bools


@dataclass(frozen=True)
class Looks:
    """Forecasts a candidate asks for, by key, with what each may be off and the limits it is held against."""

    hours: LegHours
    ahead: LooksAhead[ForecastKeys]
    route_looks: RouteLooks[ForecastKeys] | None

    def asked(self) -> list[Ints]:
        """Return all keys asked for."""
        return self.ahead.asked() + ([] if self.route_looks is None else self.route_looks.asked())


def looks_of(plan: CandidatePlan, draft: Draft, pilot: Pilot, schedule: Schedule, climate: SurfaceClimate,
             samples: LegSamples, limits: Mapping[str, Array], lights: Lights) -> Looks:
    """Return what a candidate asks of forecasts: of arrival by the hour and half a day ahead, and along the way.

    Parameters
    ----------
    plan : CandidatePlan
    draft : Draft
    pilot : Pilot
    schedule : Schedule
    climate : SurfaceClimate
    samples : LegSamples   Sample points along the ways of its legs.
    limits : mapping       Thresholds by what they are held against.
    lights : Lights
    """
    depart_h = schedule.start_h[:, None] + schedule.looks.slot
    leave, arrive = (np.clip(hour_index(h), LOOK_AHEAD_H, HOURS - 1)
                     for h in (depart_h, depart_h + plan.times.nominal_block_h[:, None]))
    open_ = schedule.looks.open_
    ways = watched_ways(draft.maker, plan, schedule)
    visual = np.array([not plan.pilot.rules.instrument or draft.maker.visual(*way) for way in ways], dtype=bool)
    night = lights.out(schedule, plan.times.nominal_block_h, visual | (not plan.pilot.rules.night))
    high = np.array([draft.maker.route_of(*way).minimum_level_ft > HIGH_FT for way in ways], dtype=bool)
    leg = np.arange(len(schedule.trip))
    planned_leave, planned_arrive = leave[schedule.planned_column], arrive[schedule.planned_column]
    early = planned_leave - _looked_ahead_h(schedule)
    latent = climate.latent_plan

    def ahead(place: Array, valid: Array, issued: Array) -> Ahead[ForecastKeys]:
        return Ahead(ForecastKeys(forecast_keys(place, valid, issued)), np.maximum(latent.sd(valid, issued), LEAST_SD))

    # Columns that are not looked at ask for what the last one before them asks for.
    inside = np.maximum.accumulate(np.where(open_, np.arange(open_.shape[1]), 0), axis=1)
    row = leg[:, None]
    hours = LegHours(leave, arrive, open_, visual, night)
    return Looks(
        hours,
        LooksAhead(ahead(schedule.to_place[:, None], arrive[row, inside], leave[row, inside] - LOOK_BEFORE_H),
                   ahead(schedule.to_place, planned_arrive, early), ahead(schedule.from_place, planned_leave, early)),
        _route_looks(hours, high, *samples, climate, limits,
                     pilot_figure(pilot, "chance_visual_share", plan.assumptions)))


def _looked_ahead_h(schedule: Schedule) -> Ints:
    """Return by leg how long before its planned hour it is thought about whether to leave earlier. [h]"""
    out = np.full(len(schedule.trip), LOOK_AHEAD_H)
    first = schedule.first_leg[:-1]
    evening = schedule.own_earlier()[first] + schedule.evening_slots
    out[first] = np.where(schedule.evening_slots > 0, np.maximum(evening, LOOK_AHEAD_H), LOOK_AHEAD_H)
    return out


def _route_looks(hours: LegHours, high: Bools, samples: Ints, share: Array, climate: SurfaceClimate,
                 limits: Mapping[str, Array], night_risk: float) -> RouteLooks[ForecastKeys] | None:
    """Return the looks along ways flown visually; arrays by leg.

    Parameters
    ----------
    high : (leg,) bool          Ways that lead above 10,000 ft.
    samples : (leg, k, 3)       Sample points and those beside them, padded with -1.
    share : (leg, k)            How much of the way lies before each.
    """
    leg, slot = np.nonzero(hours.open_ & hours.visual[:, None])
    if not len(leg):
        return None
    a, leave, arrive = climate.assumptions, hours.leave[leg, slot], hours.arrive[leg, slot]

    def passed(part: Array) -> Ints:
        index = leave[:, None] + np.rint(part * (arrive - leave)[:, None]).astype(np.int64)
        return index[:, :, None]

    def limit(name: str, place: Ints, hour: Ints) -> Array:
        there = np.maximum(place, 0)
        return np.where(high[leg][:, None, None], at_hours(limits[f"{name}_high"], climate, there, hour),
                        at_hours(limits[name], climate, there, hour))

    def key(place: Ints, valid: Ints, issued: Ints) -> ForecastKeys:
        return ForecastKeys(np.where(place >= 0, forecast_keys(place, valid, issued), -1))

    place, valid = samples[leg], passed(share[leg])
    issued = np.broadcast_to((leave - LOOK_BEFORE_H)[:, None, None], valid.shape)
    look_at, look_share = _few(samples, share, int(a["flight.looks_on_the_way"]))
    point, met = look_at[leg], passed(look_share[leg])
    seen = np.concatenate([leave[:, None, None], met[:, :-1]], axis=1)
    dark = hours.night[leg, slot]
    return RouteLooks(
        leg, slot, key(place, valid, issued), limit("route", place, valid),
        np.maximum(climate.latent_plan.sd(valid, issued), LEAST_SD), key(point, seen, seen), key(point, met, met),
        limit("route", point, seen), limit("route", point, met), limit("legal", point, met), look_share[leg],
        np.where(dark, night_risk, a["flight.chance_with_way_out_share"]), dark)


def _few(samples: Ints, share: Array, count: int) -> tuple[Ints, Array]:
    """Return at most so many sample points of each way, evenly spread; [way, count, 3] and [way, count]."""
    points, parts = np.full((len(samples), count, 3), -1, dtype=np.int64), np.zeros((len(samples), count))
    for way, there in enumerate((samples[:, :, 0] >= 0).sum(axis=1).tolist()):
        chosen = np.unique(np.rint(np.linspace(0, there - 1, min(there, count))).astype(np.int64))[:there]
        points[way, :len(chosen)], parts[way, :len(chosen)] = samples[way, chosen], share[way, chosen]
    return points, parts
