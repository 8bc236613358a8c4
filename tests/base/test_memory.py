"""Memory set free goes back to the system; where it cannot, nothing happens."""

from __future__ import annotations

import ctypes

from missionsim.base.memory import give_back


def test_it_asks_the_library_to_keep_nothing_and_does_without_one_that_cannot(monkeypatch):
    asked = []

    class Library:
        def malloc_trim(self, left):
            asked.append(left)

    monkeypatch.setattr(ctypes, "CDLL", lambda name: Library())
    give_back()
    assert asked == [0]
    monkeypatch.setattr(ctypes, "CDLL", lambda name: object())
    give_back()


def test_what_is_in_use_stays():
    kept = [bytearray(b"x") * 5000 for _ in range(200)]
    del kept[::2]
    give_back()
    assert all(block == b"x" * 5000 for block in kept)
