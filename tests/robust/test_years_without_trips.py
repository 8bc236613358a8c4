"""Generated years without any trip have no share of trips: they are left out, and are no year of nothing done."""

from __future__ import annotations

import re

import numpy as np
import pytest
import yaml

from missionsim.report.answer import answer
from missionsim.study.compare.compare import compare
from missionsim.study.compare.measures import values_of
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

AIRCRAFT = demo_folder() / "aircraft"
SEATS = {"four seats": "retractable_260", "six seats": "boosted_six"}


@pytest.fixture(scope="module")
def sparse(tmp_path_factory):
    """Return two candidates, of which one carries five people, flown through years with a trip or two or none."""
    path = tmp_path_factory.mktemp("sparse") / "study.yaml"
    path.write_text(yaml.safe_dump({
        "study": "sparse", "home": "KGRI", "seed": 4, "replications": 20, "year": 2025,
        "demand": [{"to": "KOMA", "per_year": 0.9, "adults": {1: 1, 5: 2}}],
        "candidates": [{"aircraft": str(AIRCRAFT / f"{file}.yaml"), "name": name} for name, file in SEATS.items()]}))
    return compare(load_study(path))


def counts(comparison):
    """Return trips completed [candidate, year] and wanted [year]."""
    done = np.stack([r.tally.column("completed") for r in comparison.results])
    return done, comparison.results[0].tally.column("trips_wanted")


def test_the_study_has_years_without_trips_and_years_in_which_candidates_differ(sparse):
    done, wanted = counts(sparse)
    assert 3 <= (wanted == 0).sum() <= 14
    assert (done[0] != done[1]).any()


def test_a_share_is_of_all_trips_of_all_years_in_measures_and_in_differences(sparse):
    done, wanted = counts(sparse)
    shares = done.sum(axis=1) / wanted.sum()
    for result, share in zip(sparse.results, shares, strict=True):
        assert result.measures["completed_share"]["mean"] == pytest.approx(share, abs=1e-12)
    found = next(d for d in sparse.differences if d["measure"] == "completed_share")
    assert found["mean"] == pytest.approx(shares[0] - shares[1], abs=1e-12)
    assert found["low"] < found["mean"] < found["high"]


def test_the_interval_of_the_difference_is_the_jackknife_over_all_years(sparse):
    done, wanted = counts(sparse)
    n = len(wanted)
    left_out = np.array([(done[0].sum() - done[0, i] - done[1].sum() + done[1, i]) / (wanted.sum() - wanted[i])
                         for i in range(n)])
    error = np.sqrt((n - 1) / n * ((left_out - left_out.mean()) ** 2).sum())
    found = next(d for d in sparse.differences if d["measure"] == "completed_share")
    # Student's t for 19 degrees of freedom, 97.5 %: 2.093 (any printed table), hence the tolerance of half a digit.
    assert (found["high"] - found["mean"]) / error == pytest.approx(2.093, abs=5e-4)


def test_the_answer_claims_the_trips_a_mean_year_has_more(sparse):
    done, _ = counts(sparse)
    more = abs(done[0].mean() - done[1].mean())
    said = answer(sparse).against
    told = re.search(r"makes ([0-9.]+) trips a year", said)
    assert told is not None, said
    assert float(told[1]) == pytest.approx(more, abs=0.051)     # told to a tenth
    assert "nan" not in said


def test_only_years_with_trips_have_a_best_candidate(sparse):
    done, wanted = counts(sparse)
    flown = done[:, wanted > 0] / wanted[wanted > 0]
    first = ((flown[0] > flown[1]) + 0.5 * (flown[0] == flown[1])).mean()
    best = sparse.probability_best["completed_share"]
    assert best["four seats"] == pytest.approx(first, abs=1e-12)
    assert sum(best.values()) == pytest.approx(1.0, abs=1e-12)


def test_a_year_without_trips_has_no_share(sparse):
    _, wanted = counts(sparse)
    for result in sparse.results:
        shares = values_of(result.tally, "completed_share")
        np.testing.assert_array_equal(np.isnan(shares), wanted == 0)
        np.testing.assert_array_equal(result.values("net_cost_usd") > 0, np.ones(len(wanted), dtype=bool))
