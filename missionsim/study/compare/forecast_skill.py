"""How late to decide, and how often that is wrong: what forecasts said of each leg, held against what came.

Of the ends of every leg, and of the way of legs flown visually, which need to see all of it.

A pass of its own over the weather of a few replications; nothing is flown, and nothing flown depends on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Array, Bools, Ints
from missionsim.base.normal import normal_cdf
from missionsim.decide.minima import LEAST_SD, any_of, at_hours
from missionsim.study.prepare.study import Entrant, Prepared
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS, hour_index

COUNTS = ("legs", "below", "put_off", "false_stop", "false_go", "false_go_arrival", "missed", "expected")
"""What `counted` adds up over legs. `missed`: ends below minima among legs gone; `expected`: the chances of that, as
stated; the two have the same mean."""
EVEN_SHARE = 0.5
"""Nobody is committed by waiting at the departure airport: it speaks against going when below is likelier than not."""


@dataclass(frozen=True, slots=True)
class ForecastSkill:
    """Decisions of one candidate taken a given time before departure, as shares of all legs looked at.

    `below_share`: legs whose weather at take-off, on arrival or on a way flown visually was below minima, whatever had
    been decided.
    `put_off_share`: those the forecast spoke against; `false_stop_share`: put off although the weather would have
    served. `false_go_share`: gone, and below minima at take-off or later; `false_go_arrival_share`: of these, the ones
    that could take off and met it on the way or at their destination. `visual_legs`: legs whose way counts, a year.
    """

    candidate: str
    before_h: int
    legs: int
    visual_legs: int
    below_share: float
    put_off_share: float
    false_stop_share: float
    false_go_share: float
    false_go_arrival_share: float


def forecast_skills(prepared: Prepared, replications: int) -> tuple[ForecastSkill, ...]:
    """Return how decisions turned out by candidate and hours before departure, those of the assumptions.

    Parameters
    ----------
    prepared : Prepared
    replications : int   Simulated years flown; a few of them are looked at, none where the assumptions say so.
    """
    a = prepared.study.assumptions
    count = min(replications, int(a["statistics.decided_before_replications"]))
    before_h = hours_before(a["statistics.decided_before_h"])
    if count < 1 or not len(prepared.schedule.trip):
        return ()
    sums = counted(prepared, range(count), before_h).sum(axis=0)
    seen = [len(own.leg) if (own := _way(entrant)) is not None else 0 for entrant in prepared.entrants]
    return tuple(_forecast_skill(flyer.candidate.name, hour, sums[i, j], seen[i])
                 for i, flyer in enumerate(prepared.flyers) for j, hour in enumerate(before_h))


def hours_before(given: Sequence[float]) -> list[int]:
    """Return whole hours, each once, the last look first."""
    return sorted({max(0, round(h)) for h in given})


def _forecast_skill(name: str, before_h: int, sums: Array, visual_legs: int) -> ForecastSkill:
    found = dict(zip(COUNTS, sums.tolist(), strict=True))
    shares = {f"{k}_share": found[k] / found["legs"] for k in COUNTS[1:6]}
    return ForecastSkill(name, before_h, int(found["legs"]), visual_legs, **shares)


def counted(prepared: Prepared, replications: Sequence[int], before_h: Sequence[int]) -> Array:
    """Return sums over legs at their planned hour, [replication, candidate, hours before, `COUNTS`]."""
    ends = [(_ends(entrant), _way(entrant)) for entrant in prepared.entrants]
    out = np.empty((len(replications), len(ends), len(before_h), len(COUNTS)))
    plan, known = prepared.sky.climate.latent_plan, prepared.sky.asked.latent
    for row, replication in zip(out, replications, strict=True):
        field = plan.draw(prepared.study.seed, replication, known)   # what legs ask for is drawn at once
        for (own, way), cells in zip(ends, row, strict=True):
            cells[:] = _judged(own, field, np.asarray(before_h, dtype=np.int64), way)
    return out


@dataclass(frozen=True, slots=True)
class _Ends:
    """Both ends of every leg, arrays [end, leg], departure first; `leave` [leg], `risk` [end, 1]."""

    place: Ints
    hour: Ints
    limit: Array
    leave: Ints
    risk: Array


def _ends(entrant: Entrant) -> _Ends:
    sky, schedule, plan = entrant.prepared.sky, entrant.prepared.schedule, entrant.flyer.plan
    gates = sky.gates[entrant.number]
    leave_h = schedule.start_h + schedule.planned_slot
    hour = np.stack([leave_h, leave_h + plan.times.nominal_block_h])
    hour = np.clip(hour_index(hour), 0, HOURS - 1)
    place = np.stack([schedule.from_place, schedule.to_place])
    limit = np.stack([at_hours(thresholds, sky.climate, place[end], hour[end])
                      for end, thresholds in enumerate((gates.thresholds.takeoff, gates.thresholds.landing))])
    return _Ends(place, hour, limit, hour[0], np.array([[EVEN_SHARE], [gates.risks.destination]]))


@dataclass(frozen=True, slots=True)
class _Way:
    """Sample points of ways flown visually at the planned hour, [n, k, 3]: a point and one to either side.

    `leg`, `risk` [n]; `there`: no padding; `correlation`: of forecast errors along a way.
    """

    leg: Ints
    place: Ints
    hour: Ints
    there: Bools
    limit: Array
    risk: Array
    correlation: float

    def below(self, field: FieldYear) -> Bools:
        """Tell which ways were low at some point, and to both sides of it."""
        low = np.ones(self.there.shape, dtype=bool)
        low[self.there] = field.value(self.place[self.there], self.hour[self.there]) < self.limit[self.there]
        return np.asarray((low.all(axis=2) & self.there[:, :, 0]).any(axis=1))

    def stops(self, field: FieldYear, leave: Ints, before_h: Ints) -> Bools:
        """Tell where a forecast some hours before leaving speaks against a way, [hours before, n]."""
        place, hour, limit = (values[self.there] for values in (self.place, self.hour, self.limit))
        issued = np.maximum(np.broadcast_to(leave[:, None, None], self.there.shape)[self.there] - before_h[:, None], 0)
        sd = np.maximum(field.plan.sd(hour, issued), LEAST_SD)
        margin = np.full((len(before_h), *self.there.shape), np.inf)
        margin[:, self.there] = (limit - field.mean(place, hour, issued)) / sd
        chance = np.where(self.there[:, :, 0], normal_cdf(margin.min(axis=3)), 0.0)
        return np.asarray(any_of(chance, self.correlation) >= self.risk)


def _way(entrant: Entrant) -> _Way | None:
    """Return the ways that legs of a candidate need to see at their planned hour; None where none needs it."""
    sky, schedule = entrant.prepared.sky, entrant.prepared.schedule
    gates = sky.gates[entrant.number]
    looks = gates.route_looks
    if looks is None:
        return None
    options = entrant.flyer.plan.options
    # On instruments nobody needs to see the way.
    needs = np.asarray((options.visual[options.of_leg] | (options.of_leg < 0)).all(axis=1))
    mine = np.flatnonzero((looks.slot == schedule.planned_column[1][looks.leg]) & needs[looks.leg])
    if not len(mine):
        return None
    row = looks.ahead.row[mine]
    there, points = row >= 0, sky.points
    return _Way(looks.leg[mine], points.asked_place[np.maximum(row, 0)], points.asked_valid[np.maximum(row, 0)], there,
                looks.limit[mine], looks.risk[mine], gates.risks.route_correlation)


def _judged(ends: _Ends, field: FieldYear, before_h: Ints, way: _Way | None = None) -> Array:
    """Return the sums of one candidate in one replication, [hours before, `COUNTS`]."""
    below = field.value(ends.place, ends.hour) < ends.limit
    later = np.array(below[1])
    if way is not None:
        later[way.leg] |= way.below(field)
    any_below, only_arrival = below[0] | later, later & ~below[0]
    issued = np.maximum(ends.leave - before_h[:, None], 0)[:, None, :]
    mean = field.mean(ends.place[None], ends.hour[None], issued)
    sd = np.maximum(field.plan.sd(ends.hour[None], issued), LEAST_SD)
    chance = normal_cdf((ends.limit - mean) / sd)
    stop = np.asarray((chance >= ends.risk).any(axis=1))
    if way is not None:
        stop[:, way.leg] |= way.stops(field, ends.leave[way.leg], before_h)
    go = ~stop
    counts = (np.ones_like(go), np.broadcast_to(any_below, go.shape), stop, stop & ~any_below, go & any_below,
              go & only_arrival, go * below.sum(axis=0), go * chance.sum(axis=1))
    return np.stack([np.asarray(c, dtype=float).sum(axis=1) for c in counts], axis=1)
