"""Print what rating, panel, ice protection and an early start do to the demo's year, and how often a look was wrong.

Usage: python -m missionsim.derive.check_choices [replications]
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, replace

import numpy as np

from missionsim.base.words import BIT, Purpose, Reason
from missionsim.statistics.intervals import mean_interval
from missionsim.study.inputs.load_study import Study, load_study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.replicate.one_year import weather_of, year_of
from missionsim.world.random_fields.hours import hour_index

SEASONS = {"winter": (12, 1, 2), "spring": (3, 4, 5), "summer": (6, 7, 8), "autumn": (9, 10, 11)}
STEAM = {"panel.approach": "vor", "panel.autopilot": "none"}
GLASS = {"panel.approach": "lpv", "panel.autopilot": "two_axis", "panel.autopilot_works": True}
ICE = GLASS | {"panel.ice_protection": "approved"}
VARIANTS = (("visual pilot, LPV", "visual", GLASS), ("instrument, steam gauges", "instrument", STEAM),
            ("instrument, LPV and autopilot", "instrument", GLASS), ("the same, ice approved", "instrument", ICE))
SIGHT_BITS = np.uint32(BIT[Reason.CEILING] | BIT[Reason.VISIBILITY])


@dataclass(frozen=True)
class Choice:
    """One variant: share of trips completed by season, one value a replication, and wrong looks per 100."""

    name: str
    completed: dict[str, np.ndarray]
    false_go: float
    false_stop: float


def study_of(base: Study, rating: str, panel: dict[str, object]) -> Study:
    """Return the demo with one rated pilot and the roomier aircraft with another panel."""
    candidate = next(c for c in base.candidates if c.name.startswith("260 hp"))
    pilot = base.pilot.model_copy(update={"rating": rating})
    return replace(base, pilot=pilot, candidates=(replace(candidate, profile=candidate.profile.changed(panel)),))


def measured(base: Study, name: str, rating: str, panel: dict[str, object], replications: int) -> Choice:
    """Fly one variant.

    Parameters
    ----------
    base : Study         Study that is varied.
    name : str           Of the variant.
    rating : str         Of the pilot.
    panel : mapping      Changes of the panel.
    replications : int   How many.
    """
    ready = prepare(study_of(base, rating, panel))
    month = np.array([t.departs_local[0].month for t in ready.table])
    done: dict[str, list[float]] = {s: [] for s in (*SEASONS, "year")}
    flown = wrong = looked = stopped = 0
    for r in range(replications):
        day = weather_of(ready, r)
        year = year_of(ready.entrants[0], day, r)
        ok = np.zeros(len(month), dtype=bool)
        ok[[e.trip for e in year.log.ends if str(e.outcome) in {"completed", "delayed"}]] = True
        for s, months in SEASONS.items():
            done[s].append(float(ok[np.isin(month, months)].mean()))
        done["year"].append(float(ok.mean()))
        flown += len(year.log.legs)
        wrong += sum(h.purpose is Purpose.DIVERSION for h in year.log.hops)
        a, b = _stops(ready, day, year)
        looked, stopped = looked + a, stopped + b
    return Choice(name, {s: np.array(v) for s, v in done.items()}, 100.0 * wrong / max(flown, 1),
                  100.0 * stopped / max(looked, 1))


def _stops(ready: Prepared, day, year) -> tuple[int, int]:
    """Return legs looked at at the planned hour, and those put off for ceiling or visibility that would have gone."""
    schedule, surface = ready.schedule, day.sky.surface
    leg = np.arange(len(schedule.trip))
    leave = hour_index(schedule.start_h + schedule.planned_slot)
    arrive = hour_index(schedule.start_h + schedule.planned_slot + year.plan.times.nominal_block_h)
    limits = surface.climate.thresholds
    takeoff = limits(*year.plan.pilot.takeoff)
    extra = len(surface.climate.names) - len(year.plan.pilot.landing.ceiling_ft)
    landing = limits(np.append(year.plan.pilot.landing.ceiling_ft, np.full(extra, 1000.0)),
                     np.append(year.plan.pilot.landing.visibility_sm, np.full(extra, 3.0)))
    good = ~surface.below(takeoff, schedule.from_place, leave) & ~surface.below(landing, schedule.to_place, arrive)
    put_off = (year.weather.reasons.take(schedule.looks.hours.place(*schedule.planned_column)) & SIGHT_BITS) != 0
    return len(leg), int((put_off & good).sum())


def main() -> None:
    """Print the table."""
    replications = int(sys.argv[1]) if len(sys.argv) > 1 else 20
    base = load_study()
    print("share of trips completed, mean and 95 % interval".ljust(34), *(s.rjust(18) for s in (*SEASONS, "year")))
    for name, rating, panel in VARIANTS:
        found = measured(base, name, rating, panel, replications)
        cells = []
        for s in (*SEASONS, "year"):
            mean, low, high = mean_interval(found.completed[s])
            cells.append(f"{mean:.0%} ({low:.0%}-{high:.0%})".rjust(18))
        wrong = f"  false go {found.false_go:.1f}, false stop {found.false_stop:.1f} per 100 legs"
        print(name.ljust(34), *cells, wrong, flush=True)


if __name__ == "__main__":
    main()
