"""A short fixed run of the fuzzers; `python -m tests.robust.fuzz` runs them long, with new cases."""

from __future__ import annotations

import contextlib
import random

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import InputError
from tests.robust import fuzz, fuzz_ends, fuzz_overrides


@pytest.mark.parametrize("seed", range(12))
def test_damaged_files_end_in_an_answer_or_in_plain_words(tmp_path, seed):
    assert fuzz.KINDS["inputs"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(12))
def test_overrides_within_what_is_accepted_fly_to_the_end(tmp_path, seed):
    assert fuzz.KINDS["overrides"](seed, tmp_path) == ""


ENDS = (0, 51, 102, 153, 204, 255)
"""Cases of flight, weather, aircraft, money, partnership and hire, at both ends."""


@pytest.mark.parametrize("seed", ENDS[:2])
def test_assumptions_at_the_ends_of_their_ranges_fly_and_beyond_are_refused(tmp_path, seed):
    assert fuzz.KINDS["ends"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", ENDS[2:])
def test_more_assumptions_at_the_ends_of_their_ranges(tmp_path, seed):
    assert fuzz.KINDS["ends"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", [0, 3, 5, 6, 9])
def test_assumptions_at_the_ends_fly_with_every_option_too(tmp_path, seed):
    """Each option and command once, at one end."""
    assert fuzz.KINDS["options"](seed, tmp_path) == ""


def test_every_assumption_is_refused_just_beyond_either_end():
    taken = []
    for entry in fuzz_ends.ENTRIES:
        for end in ("low", "high"):
            value = fuzz_ends.beyond(entry, end, random.Random(1))
            if value is not None:
                with contextlib.suppress(InputError):
                    packaged_assumptions().replaced({entry.key: value})
                    taken.append((entry.key, value))
    assert taken == []


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(len(fuzz.ENVIRONMENTS)))
def test_odd_environments_end_in_an_answer_or_in_plain_words(tmp_path, seed):
    assert fuzz.KINDS["environments"](seed, tmp_path) == ""


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(6))
def test_a_kill_at_any_moment_leaves_whole_results_or_none(tmp_path, seed):
    assert fuzz.KINDS["kills"](seed, tmp_path) == ""


@pytest.mark.parametrize("seed", range(30))
def test_the_search_draws_only_what_is_accepted(seed):
    chosen = fuzz_overrides.assumptions(random.Random(seed))
    assert {key: packaged_assumptions().replaced(chosen)[key] for key in chosen} == chosen
