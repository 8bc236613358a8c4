"""How late to decide, and how often that is wrong: what forecasts said of each leg's ends, held against what came.

A pass of its own over the weather of a few replications; nothing is flown, and nothing flown depends on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from missionsim.base.normal import normal_cdf
from missionsim.decide.minima import LEAST_SD, at_hours
from missionsim.study.prepare.study import Entrant, Prepared
from missionsim.world.random_fields.field import FieldYear
from missionsim.world.random_fields.hours import HOURS, hour_index

Array = NDArray[Any]
COUNTS = ("legs", "below", "put_off", "false_stop", "false_go", "false_go_arrival", "missed", "expected")
"""What `counted` adds up over legs. `missed`: ends below minima among legs gone; `expected`: the chances of that, as
stated; the two have the same mean."""
EVEN_SHARE = 0.5
"""Nobody is committed by waiting at the departure airport: it speaks against going when below is likelier than not."""


@dataclass(frozen=True, slots=True)
class ForecastSkill:
    """Decisions of one candidate taken a given time before departure, as shares of all legs looked at.

    `below_share`: legs whose weather at take-off or arrival was below minima, whatever had been decided.
    `put_off_share`: those the forecast spoke against; `false_stop_share`: put off although the weather would have
    served. `false_go_share`: gone, and below minima at take-off or arrival; `false_go_arrival_share`: of these, the
    ones that could take off and met it at their destination.
    """

    candidate: str
    before_h: int
    legs: int
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
    return tuple(_forecast_skill(flyer.candidate.name, hour, sums[i, j]) for i, flyer in enumerate(prepared.flyers)
                 for j, hour in enumerate(before_h))


def hours_before(given: Sequence[float]) -> list[int]:
    """Return whole hours, each once, the last look first."""
    return sorted({max(0, round(h)) for h in given})


def _forecast_skill(name: str, before_h: int, sums: Array) -> ForecastSkill:
    found = dict(zip(COUNTS, sums.tolist(), strict=True))
    shares = {f"{k}_share": found[k] / found["legs"] for k in COUNTS[1:6]}
    return ForecastSkill(name, before_h, int(found["legs"]), **shares)


def counted(prepared: Prepared, replications: Sequence[int], before_h: Sequence[int]) -> Array:
    """Return sums over legs at their planned hour, [replication, candidate, hours before, `COUNTS`]."""
    ends = [_ends(entrant) for entrant in prepared.entrants]
    out = np.empty((len(replications), len(ends), len(before_h), len(COUNTS)))
    plan = prepared.sky.climate.latent_plan
    for row, replication in zip(out, replications, strict=True):
        field = plan.draw(prepared.study.seed, replication)
        for own, cells in zip(ends, row, strict=True):
            cells[:] = _judged(own, field, np.asarray(before_h, dtype=np.int64))
    return out


@dataclass(frozen=True, slots=True)
class _Ends:
    """Both ends of every leg, arrays [end, leg], departure first; `leave` [leg], `risk` [end, 1]."""

    place: NDArray[np.int64]
    hour: NDArray[np.int64]
    limit: Array
    leave: NDArray[np.int64]
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


def _judged(ends: _Ends, field: FieldYear, before_h: NDArray[np.int64]) -> Array:
    """Return the sums of one candidate in one replication, [hours before, `COUNTS`]."""
    below = field.value(ends.place, ends.hour) < ends.limit
    any_below, only_arrival = below.any(axis=0), below[1] & ~below[0]
    issued = np.maximum(ends.leave - before_h[:, None], 0)[:, None, :]
    mean = field.mean(ends.place[None], ends.hour[None], issued)
    sd = np.maximum(field.plan.sd(ends.hour[None], issued), LEAST_SD)
    chance = normal_cdf((ends.limit - mean) / sd)
    stop = (chance >= ends.risk).any(axis=1)
    go = ~stop
    counts = (np.ones_like(go), np.broadcast_to(any_below, go.shape), stop, stop & ~any_below, go & any_below,
              go & only_arrival, go * below.sum(axis=0), go * chance.sum(axis=1))
    return np.stack([np.asarray(c, dtype=float).sum(axis=1) for c in counts], axis=1)
