"""Ten mistakes put in: tests must notice each; every mistake of the list must still be found in the code."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.mutation.mistakes import MISTAKES
from tests.mutation.tree import copied_tree

TEN = ("-> return speed * np.sin(angle), -speed * np.cos(angle)",
       "(x.size - 1) / x.size)", "np.arange(1, p.size + 1)", "cruise_kt * time_h",
       "room_lb)", "2000.0 if course < 180.0", "(lighter - zero)", "if aircraft.seats >= 4:", "* (now / tbo)",
       "shift = 0")


@pytest.mark.slow
def test_every_mistake_is_found_in_the_code() -> None:
    with copied_tree(Path(__file__).parents[2]) as tree:
        assert [m.name for m in MISTAKES if not tree.holds(m)] == []


@pytest.mark.slow
def test_ten_mistakes_are_noticed() -> None:
    ten = [m for m in MISTAKES if any(words in f"{m.right} -> {m.wrong}" for words in TEN)]
    assert len(ten) >= len(TEN)
    with copied_tree(Path(__file__).parents[2]) as tree:
        assert [m.name for m in ten if tree.result(m) != "killed"] == []


def test_mistakes_are_mistakes() -> None:
    assert len({m.name for m in MISTAKES}) == len(MISTAKES) >= 120
    assert [m.name for m in MISTAKES if m.right == m.wrong] == []
