"""What flown years leave in memory: `python -m tests.benchmarks.memory`, of the demo; an argument sets the years.

Bytes of all that the tallies of a run hold less those of half of it, folded as a run folds them, over trips x
candidates x replications: what grows with a run, without what a study needs whatever its length. Records kept for
reports are of the first replications only and stay out.
"""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import Prepared, prepare
from missionsim.study.replicate.one_year import CHUNK
from missionsim.study.replicate.tally import joined_tallies


def bytes_of(held: Any) -> Counter[str]:
    """Return the bytes of all arrays that an object leads to, by the names of its attributes; shared ones once."""
    found: Counter[str] = Counter()
    seen: set[int] = set()

    def walk(value: Any, name: str) -> None:
        if id(value) in seen:
            return
        seen.add(id(value))
        if isinstance(value, np.ndarray):
            found[name] += value.nbytes
            return
        if isinstance(value, (list, tuple)):
            for item in value:
                walk(item, name)
            return
        inside = value if isinstance(value, Mapping) else getattr(value, "__dict__", {}) | {
            n: getattr(value, n) for n in getattr(type(value), "__slots__", ()) if hasattr(value, n)}
        for key, item in inside.items():
            walk(item, f"{name}.{key}" if name.count(".") < 2 else name)

    walk(held, "")
    return found


def grown(prepared: Prepared, replications: int) -> tuple[float, Counter[str]]:
    """Return bytes a trip, candidate and replication, and those of each part."""
    parts = [[replace(tally, kept=None) for tally in chunk_tallies(prepared, range(first, first + CHUNK), 0)]
             for first in range(0, replications, CHUNK)]
    once, twice = ([joined_tallies(list(chunks)) for chunks in zip(*some, strict=True)]
                   for some in (parts[:len(parts) // 2], parts))
    count = CHUNK * (len(parts) - len(parts) // 2) * len(once) * len(prepared.table)
    before, after = (sum((bytes_of(tally) for tally in tallies), Counter()) for tallies in (once, twice))
    part = Counter({name: size - before[name] for name, size in after.items()})
    return part.total() / count, Counter({name: size / count for name, size in part.items()})


def main() -> None:
    """Print bytes a trip, candidate and replication, the largest parts first."""
    replications = int(sys.argv[1]) if len(sys.argv) > 1 else 400
    total, part = grown(prepare(load_study(None), rental=True), replications)
    for name, size in part.most_common(25):
        print(f"{size:8.2f}  {name.lstrip('.')}")  # noqa: T201
    print(f"{total:8.2f}  bytes a trip, candidate and replication")  # noqa: T201


if __name__ == "__main__":
    main()
