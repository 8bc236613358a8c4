"""A short fixed run of the fuzzers; `python -m tests.robust.fuzz` runs them long, with new cases."""

from __future__ import annotations

import pytest

from tests.robust import fuzz


@pytest.mark.parametrize("seed", range(12))
def test_damaged_files_end_in_an_answer_or_in_plain_words(tmp_path, seed):
    assert fuzz.KINDS["inputs"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_overrides_within_what_is_accepted_fly_to_the_end(tmp_path, seed):
    assert fuzz.KINDS["overrides"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(len(fuzz.ENVIRONMENTS)))
def test_odd_environments_end_in_an_answer_or_in_plain_words(tmp_path, seed):
    assert fuzz.KINDS["environments"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_a_kill_at_any_moment_leaves_whole_results_or_none(tmp_path, seed):
    assert fuzz.KINDS["kills"](seed, tmp_path) == ""
