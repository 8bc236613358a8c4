"""When enough years are flown: the width by hand, the same answer for any number of workers, and clean ends."""

from __future__ import annotations

import os
import time
import warnings
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from missionsim.base.errors import ValidityError
from missionsim.base.parallel import in_order
from missionsim.study.compare.compare import compare, flown_tallies
from missionsim.study.compare.stopping import Watch, most_replications, widest_usd
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare
from missionsim.study.replicate.ownership_years import bought

MOST = 60


def study_of(**more):
    study = load_study()
    few = replace(study.listed, trips=study.listed.trips[:4])
    quick = study.assumptions.replaced({"statistics.decided_before_replications": 1})
    return replace(study, listed=few, candidates=study.candidates[:2], assumptions=quick, **more)


@pytest.fixture(scope="module")
def study():
    return study_of()


@pytest.fixture(scope="module")
def plain(study):
    """All years flown, two candidates' costs [candidate, year]."""
    found = compare(study, MOST, keep=1)
    return found, np.stack([r.values("net_cost_usd") for r in found.results])


def width_usd(costs, years):
    """Half width of a mean difference of two candidates by the formula, with t of tables for 29, 39, 49 and 59."""
    t = {30: 2.0452, 40: 2.0227, 50: 2.0096, 60: 2.0010}[years]
    d = costs[0, :years] - costs[1, :years]
    return t * d.std(ddof=1) / np.sqrt(years)


def test_a_width_is_the_widest_of_paired_differences_to_the_cheapest():
    costs = np.array([[10.0, 20.0, 30.0], [12.0, 21.0, 33.0], [90.0, 10.0, 50.0]])
    t = 4.302653   # two-sided 95 %, two degrees of freedom
    wide = np.std([80.0, -10.0, 20.0], ddof=1) / np.sqrt(3.0)
    assert widest_usd(costs) == pytest.approx(t * wide, rel=1e-6)
    assert widest_usd(costs[:2]) == pytest.approx(t / np.sqrt(3.0), rel=1e-6)
    assert widest_usd(costs[:1]) == pytest.approx(t * 10.0 / np.sqrt(3.0), rel=1e-6)
    assert widest_usd(costs[:, :1]) is None
    # The dearest against the two cheaper ones would be narrower than those two against each other.
    apart = np.array([[0.0, 10.0, 20.0], [25.0, 15.0, 5.0], [90.0, 90.0, 90.0]])
    assert widest_usd(apart) == pytest.approx(t * 20.0 / np.sqrt(3.0), rel=1e-6)


def test_it_stops_at_the_first_chunk_end_that_is_narrow_enough_and_not_before_thirty_years(study, plain):
    costs = plain[1]
    widths = {n: width_usd(costs, n) for n in (30, 40, 50, 60)}
    narrowest = min(widths.values())
    for within in (narrowest * 1.0005, 0.5 * (widths[30] + narrowest) * 1.0005, 1e9):
        expected = next(n for n in widths if widths[n] <= within)
        found = compare(study, MOST, keep=1, within_usd=within)
        assert found.replications == expected
        assert found.stopping.enough
        assert found.stopping.reached_usd == pytest.approx(widths[expected], rel=1e-4)


def test_years_stopped_at_are_those_of_a_plain_run_in_one_process_and_in_two(study):
    prepared = prepare(study)
    told = []
    alone = flown_tallies(prepared, 200, 1, 1, lambda *done: told.append(done), watch=Watch(prepared, 1e9, 200))
    two = flown_tallies(prepared, 200, 2, 1, watch=Watch(prepared, 1e9, 200))
    asked_for = flown_tallies(prepared, 30, 1, 1)
    assert told == [(10, 200), (20, 200), (30, 30)]
    for a, b, c in zip(alone, two, asked_for, strict=True):
        for name in ("replications", "table", "categories", "monthly", "by_trip", "trip_sum", "trip_cents"):
            assert getattr(a, name).tobytes() == getattr(b, name).tobytes() == getattr(c, name).tobytes()


def test_a_limit_that_comes_first_says_so(study):
    found = compare(study, 20, keep=1, within_usd=1e9).stopping
    assert (found.enough, found.replications, found.first, found.limit) == (False, 20, 30, 20)
    assert found.reached_usd > 0.0
    narrow = compare(study, 35, keep=1, within_usd=1e-3).stopping
    assert (narrow.enough, narrow.replications) == (False, 35)


def test_the_most_flown_is_asked_for_or_assumed(study):
    assert most_replications(study, None, None) == study.replications
    assert most_replications(study, None, 500.0) == 1000
    assert most_replications(study, 70, 500.0) == 70


@pytest.mark.parametrize("width", [0.0, -5.0, float("nan"), float("inf")])
def test_a_width_that_is_none_is_refused(study, width):
    with pytest.raises(ValidityError, match="accepted: a finite number above 0"):
        Watch(prepare(study), width, 100)


def test_over_several_years_it_is_the_cost_of_a_year_in_batches():
    study = study_of()
    study = replace(study, spec=study.spec.model_copy(update={"years": 2}))
    prepared = prepare(study)
    watch = Watch(prepared, 1e9, 120)
    tallies = flown_tallies(prepared, 120, watch=watch)
    found = watch.stopping()
    assert (found.measure, found.replications, found.enough) == ("net_cost_usd", 100, True)
    whole = np.stack([bought(e, t.owned).year_cents.sum(axis=1) / 100.0
                      for e, t in zip(prepared.entrants, tallies, strict=True)])
    d = (whole[0] - whole[1]).reshape(10, 10).mean(axis=1)
    assert found.reached_usd == pytest.approx(2.2622 * d.std(ddof=1) / np.sqrt(10.0), rel=1e-4)


def last_ones_sleep(marks, job):
    if job >= 4:
        time.sleep(60.0)
        (marks / str(job)).touch()
    return os.getpid()


@pytest.mark.skipif(not Path("/proc").is_dir(), reason="processes are looked up there")
def test_work_no_longer_wanted_is_stopped_without_a_word(tmp_path):
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        with closing(in_order(last_ones_sleep, tmp_path, range(50), workers=2, may_stop=True)) as results:
            busy = {next(results) for _ in range(4)}
    assert list(tmp_path.iterdir()) == []       # nobody slept to the end
    assert not [pid for pid in busy if Path(f"/proc/{pid}").exists()]


@pytest.mark.slow
def test_a_cluster_stops_at_the_same_year(study):
    distributed = pytest.importorskip("distributed")
    prepared = prepare(study)
    alone = flown_tallies(prepared, 100, watch=Watch(prepared, 1e9, 100))
    with distributed.LocalCluster(n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None) as cluster:
        there = flown_tallies(prepared, 100, cluster=cluster.scheduler_address, watch=Watch(prepared, 1e9, 100))
    assert [t.table.tobytes() for t in there] == [t.table.tobytes() for t in alone]
