"""`python -m tests.mutation`: put each mistake into a copy of the tree, run the nearest tests, say which notice.

    python -m tests.mutation                    all of them, hours on a slow machine
    python -m tests.mutation money segments     those whose module or text holds one of the words
    python -m tests.mutation --list             only look whether each is found in the code

Exit code 1: a mistake is no longer found in the code, tests fail by themselves, or fewer than nine in ten are noticed.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from tests.mutation.mistakes import MISTAKES, Mistake
from tests.mutation.tree import Tree, copied_tree

WANTED_SHARE = 0.9


def main(words: list[str] | None = None) -> int:
    """Run, print a line each and a table by module, and return the exit code."""
    parser = argparse.ArgumentParser(prog="python -m tests.mutation")
    parser.add_argument("words", nargs="*")
    parser.add_argument("--list", action="store_true", help="only look whether each mistake is found in the code")
    parser.add_argument("--also-slow", action="store_true", help="run slow tests as well")
    asked = parser.parse_args(words)
    chosen = [m for m in MISTAKES if not asked.words or any(w in m.name for w in asked.words)]
    with copied_tree(Path(__file__).parents[2]) as tree:
        stale = [m for m in chosen if not tree.holds(m)]
        for mistake in stale:
            print(f"stale     {mistake.name}")
        if asked.list:
            print(f"{len(chosen) - len(stale)} found in the code, {len(stale)} stale")
            return int(bool(stale))
        results = _run([m for m in chosen if m not in stale], tree, asked.also_slow)
    _table(results, stale)
    killed = sum(result == "killed" for result in results.values())
    return int(bool(stale) or "broken" in results.values() or killed < WANTED_SHARE * max(len(results), 1))


def _run(chosen: list[Mistake], tree: Tree, also_slow: bool) -> dict[Mistake, str]:
    sound: dict[tuple[str, ...], bool] = {}
    results = {}
    for mistake in chosen:
        tests = tree.tests_of(mistake)
        if tests not in sound:
            sound[tests] = tree.passes(tests, also_slow)
        results[mistake] = "broken" if not sound[tests] else tree.result(mistake, also_slow)
        print(f"{results[mistake]:9} {mistake.name}", flush=True)
    return results


def _table(results: dict[Mistake, str], stale: list[Mistake]) -> None:
    print(f"\n{'module':34} {'killed':>7} {'survived':>9} {'stale':>6}")
    for module in sorted({m.module for m in [*results, *stale]}):
        killed, survived = (sum(r == kind and m.module == module for m, r in results.items())
                            for kind in ("killed", "survived"))
        print(f"{module:34} {killed:7} {survived:9} {sum(m.module == module for m in stale):6}")
    counts = [sum(r == kind for r in results.values()) for kind in ("killed", "survived")]
    print(f"{'all':34} {counts[0]:7} {counts[1]:9} {len(stale):6}   {counts[0] / max(sum(counts), 1):.0%} killed")
    if "broken" in results.values():
        print("The tests of some modules fail without any mistake; they say nothing.")


if __name__ == "__main__":
    sys.exit(main())
