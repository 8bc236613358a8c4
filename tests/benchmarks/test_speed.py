"""How long things take. Run by hand on a quiet machine: pytest tests/benchmarks -m benchmark --benchmark-enable.

The ratio of a simulated candidate-year to the floor has a program of its own: python -m tests.benchmarks.ratio.
"""

from __future__ import annotations

import os
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from missionsim.flight.batch import plan_cells
from missionsim.study.compare.compare import compare, compared, flown_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.one_year import fly, loads_of, weather_of
from missionsim.study.unknowns.effects import effects_of

sys.path.insert(0, str(Path(__file__).parent))
from floor import DEMO, GENERATED, floor_year
from made_study import made_study

pytestmark = pytest.mark.benchmark


@pytest.fixture(scope="module")
def demo():
    return prepare(load_study())


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    return prepare(made_study(tmp_path_factory.mktemp("made")))


def air_of(prepared, number=0):
    plan, day = prepared.flyers[number].plan, weather_of(prepared, 0)
    return plan, plan.cells.air(day.air[plan.rows.lane_set], plan.rows.lane)


def test_flight_plans_in_a_batch(benchmark, made):
    """All flights of a year in one batch; divide `cells` by the time for plans a second."""
    plan, air = air_of(made)
    benchmark.extra_info["cells"] = len(plan.cells.row)
    benchmark(plan_cells, plan.table, plan.cells.row, air, plan.level_limits, np.zeros(len(plan.rows.leg)))


def test_one_flight_plan(benchmark, made):
    plan, air = air_of(made)
    one = air.mapped(lambda values: values[:1])
    benchmark(plan_cells, plan.table, plan.cells.row[:1], one, plan.level_limits, np.zeros(len(plan.rows.leg)))


@pytest.mark.parametrize("which", ["demo", "made"])
def test_one_replication_of_weather(benchmark, which, request):
    prepared = request.getfixturevalue(which)
    numbers = iter(range(10_000))
    benchmark(lambda: weather_of(prepared, next(numbers)))


@pytest.mark.parametrize("number", range(4))
@pytest.mark.parametrize("which", ["demo", "made"])
def test_one_candidate_year(benchmark, which, number, request):
    prepared = request.getfixturevalue(which)
    day = weather_of(prepared, 0)
    effects = effects_of(prepared.flyers[number].listing.drawn(prepared.study.seed, [0]))
    loads = loads_of(prepared.entrants[number], [day.people_lb], effects)[0]
    benchmark(fly, prepared.entrants[number], day, 0, effects.at(0), loads)


@pytest.mark.parametrize("events", [DEMO, GENERATED])
def test_the_floor(benchmark, events):
    assert len(benchmark(floor_year, events)) == events.flights


def test_preparing_the_demo(benchmark):
    study = load_study()
    benchmark.pedantic(prepare, (study,), rounds=3)


def test_the_demo_at_200_replications(benchmark):
    study = load_study()
    benchmark.pedantic(compare, (study, 200), {"workers": 2}, rounds=1)


@pytest.mark.parametrize("trips", [55, 110, 220, 440])
def test_cost_is_linear_in_trips(benchmark, trips, tmp_path):
    prepared = prepare(made_study(tmp_path, trips))
    benchmark.pedantic(flown_tallies, (prepared, 10), rounds=3)


@pytest.mark.parametrize("candidates", [1, 2, 4, 8])
def test_cost_is_linear_in_candidates(benchmark, candidates, tmp_path):
    study = made_study(tmp_path)
    many = [replace(c, name=f"{c.name} {turn}") for turn in (1, 2) for c in study.candidates]
    benchmark.pedantic(flown_tallies, (prepare(replace(study, candidates=tuple(many[:candidates]))), 10), rounds=3)


@pytest.mark.parametrize("replications", [10, 20, 40])
def test_cost_is_linear_in_replications(benchmark, replications, demo):
    benchmark.pedantic(flown_tallies, (demo, replications), rounds=2)


def test_the_report(benchmark, demo, tmp_path):
    from missionsim.report.publish import publish
    found = compared(demo, flown_tallies(demo, 20, keep=20))
    benchmark.pedantic(publish, (found, tmp_path / "report", None), rounds=3)


@pytest.mark.parametrize("arguments", [("--help",), ("leg", "retractable_260", "KGRI", "KOMA", "--still-air")])
def test_start_up(benchmark, arguments):
    command = [sys.executable, "-c", "from missionsim.cli import main; main()", *arguments]
    environment = {**os.environ, "OMP_NUM_THREADS": "1"}
    options = {"check": True, "capture_output": True, "env": environment}
    benchmark.pedantic(subprocess.run, (command,), options, rounds=5)
