"""The ratio of a simulated candidate-year to the floor: `python -m tests.benchmarks.ratio`, by hand on a quiet machine.

CPU time of flying 220 replications less 20, over 200 x candidates, weather taken out and listed beside it; the floor is
timed in between in the same process; medians.
"""

from __future__ import annotations

import statistics
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from time import process_time
from typing import Any

from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.replicate import one_year as replicate
from tests.benchmarks.floor import DEMO, GENERATED, Events, floor_year
from tests.benchmarks.made_study import made_study


class WeatherClock:
    """Adds up the CPU time spent in making weather."""

    def __init__(self, weather_of: Callable[..., Any]) -> None:
        self.weather_of, self.spent_s, self.calls = weather_of, 0.0, 0

    def __call__(self, *arguments: Any) -> Any:
        start = process_time()
        day = self.weather_of(*arguments)
        self.spent_s += process_time() - start
        self.calls += 1
        return day


def flown_s(prepared: Prepared, replications: int, clock: WeatherClock) -> float:
    """Return the CPU time of flying and summing replications, without their weather."""
    before, start = clock.spent_s, process_time()
    for first in range(0, replications, replicate.CHUNK):
        chunk_tallies(prepared, range(first, min(first + replicate.CHUNK, replications)), 20)
    return process_time() - start - (clock.spent_s - before)


def floor_s(events: Events, years: int = 20) -> float:
    """Return the CPU time of one floor year."""
    start = process_time()
    for _ in range(years):
        floor_year(events)
    return (process_time() - start) / years


def measured(prepared: Prepared, events: Events, rounds: int = 9, long: int = 220, short: int = 20) -> dict[str, float]:
    """Return the medians: `year_s` a candidate-year, `floor_s`, their `ratio`, and `weather_s` a replication."""
    clock = WeatherClock(replicate.weather_of)
    replicate.weather_of = clock  # type: ignore[assignment]
    try:
        years, floors = [], []
        for _ in range(rounds):
            floors.append(floor_s(events))
            spent_s = flown_s(prepared, long, clock) - flown_s(prepared, short, clock)
            years.append(spent_s / ((long - short) * len(prepared.flyers)))
            floors.append(floor_s(events))
    finally:
        replicate.weather_of = clock.weather_of  # type: ignore[assignment]
    ratios = [y / (0.5 * (floors[2 * i] + floors[2 * i + 1])) for i, y in enumerate(years)]
    return {"year_s": statistics.median(years), "floor_s": statistics.median(floors),
            "ratio": statistics.median(ratios), "weather_s": clock.spent_s / clock.calls}


def main() -> None:
    """Print the ratio for the generated study and for the demo; a first argument sets the rounds."""
    rounds = int(sys.argv[1]) if len(sys.argv) > 1 else 9
    long = int(sys.argv[2]) if len(sys.argv) > 2 else 220
    with tempfile.TemporaryDirectory() as folder:
        studies = {"generated, 110 trips": (made_study(Path(folder)), GENERATED), "demo": (load_study(None), DEMO)}
        for name, (study, events) in studies.items():
            prepared = prepare(study)
            found = measured(prepared, events, rounds, long)
            print(f"{name}: ratio {found['ratio']:.2f}; candidate-year {1e3 * found['year_s']:.2f} ms, floor "  # noqa: T201
                  f"{1e3 * found['floor_s']:.2f} ms, weather {1e3 * found['weather_s']:.0f} ms a replication, "
                  f"{len(prepared.schedule.trip)} legs")


if __name__ == "__main__":
    main()
