"""What each candidate carries how far in one flight, as plain shapes with the trips as dots."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from missionsim.report.draw_ground import edge_of_one_flight, load_over, trip_loads
from missionsim.report.first_screen import MARKS, WIDTH, Scale, Tick
from missionsim.report.wording import count, number
from missionsim.study.prepare.study import Prepared

HEIGHT, LEFT, BELOW = 200.0, 52.0, 30.0


@dataclass(frozen=True, slots=True)
class Reach:
    """Load against distance of one candidate. [px]

    `edge`: path of the most it carries; `within`, `beyond`: places of trips inside and outside it; `words`: the same
    in a sentence.
    """

    name: str
    mark: int
    edge: str
    within: tuple[tuple[float, float], ...]
    beyond: tuple[tuple[float, float], ...]
    across: tuple[Tick, ...]
    upward: tuple[Tick, ...]
    words: str
    width: float = WIDTH
    height: float = HEIGHT
    left: float = LEFT
    below: float = BELOW


def reaches(prepared: Prepared) -> tuple[Reach, ...]:
    """Return the picture of every candidate, all on the same scales."""
    edges = [edge_of_one_flight(prepared, i) for i in range(len(prepared.flyers))]
    distance_nm, load_lb = trip_loads(prepared)
    right = min(max(float(nm.max()) for nm, _ in edges), 2.2 * float(distance_nm.max(initial=300.0)))
    across = Scale(np.array([0.0, right]), LEFT, WIDTH - 8.0)
    top = max(float(load_lb.max(initial=0.0)), *(float(lb.max()) for _, lb in edges), 1.0)
    upward = Scale(np.array([0.0, top]), HEIGHT - BELOW, 10.0)
    return tuple(_reach(prepared, i, edge, (distance_nm, load_lb), across, upward) for i, edge in enumerate(edges))


def _reach(prepared: Prepared, i: int, edge: tuple[np.ndarray, np.ndarray], trips: tuple[np.ndarray, np.ndarray],
           across: Scale, upward: Scale) -> Reach:
    name = prepared.flyers[i].candidate.profile.name
    fits = [bool(lb <= load_over(edge, float(nm))) for nm, lb in zip(*trips, strict=True)]
    at = [(across(min(float(nm), across.high)), upward(float(lb))) for nm, lb in zip(*trips, strict=True)]
    inside = edge[0] <= across.high
    points = [(across(float(x)), upward(float(y))) for x, y in zip(edge[0][inside], edge[1][inside], strict=True)]
    near, far = (number(load_over(edge, nm), 0) for nm in (150.0, 400.0))
    words = f"{name} carries {near} lb over 150 nm and {far} lb over 400 nm in one flight; {_of(fits)}"
    return Reach(name, i % len(MARKS), "M" + "L".join(f"{x:g} {y:g}" for x, y in points),
                 tuple(p for p, f in zip(at, fits, strict=True) if f),
                 tuple(p for p, f in zip(at, fits, strict=True) if not f),
                 tuple(Tick(across(t), f"{t:,.0f}") for t in across.ticks(4)),
                 tuple(Tick(upward(t), f"{t:,.0f}") for t in upward.ticks(4)), words)


def _of(fits: Sequence[bool]) -> str:
    beyond = len(fits) - sum(fits)
    return f"all {count(len(fits), 'trip')} lie within" if not beyond else \
        f"{count(beyond, 'trip')} of {len(fits)} need a stop or less load"
