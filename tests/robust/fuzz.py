"""`python -m tests.robust.fuzz KIND`: random cases until time is up; each failing one is told with its seed.

    python -m tests.robust.fuzz overrides --minutes 30
    python -m tests.robust.fuzz ends --first 0 --minutes 120
    python -m tests.robust.fuzz inputs --first 5000 --cases 2000
    python -m tests.robust.fuzz environments

Kinds: inputs (damaged files), texts (odd advertisements, calendars, spreadsheets and tables), page (odd requests),
overrides (assumptions within what is accepted), ends (each assumption at both ends of
its range and just beyond; every entry once from 0), options (the same with --tipping, --upgrades, --grid, partners and
rates; every entry with each once from 0), environments (consoles, disks, limits), kills (a run ended at any
moment). Odd arguments are searched by `pytest tests/robust --hypothesis-profile=long`.
"""

from __future__ import annotations

import argparse
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "helpers"))

from tests.robust import fuzz_ends, fuzz_environments, fuzz_inputs, fuzz_overrides, fuzz_page, fuzz_texts

ENVIRONMENTS = fuzz_environments.ENVIRONMENTS
KINDS: dict[str, Callable[[int, Path], str]] = {
    "inputs": fuzz_inputs.run, "overrides": fuzz_overrides.run, "ends": fuzz_ends.run, "options": fuzz_ends.run_options,
    "texts": fuzz_texts.run, "page": fuzz_page.run,
    "environments": fuzz_environments.run, "kills": fuzz_environments.run_killed}


def main(words: list[str] | None = None) -> int:
    """Run cases and return 1 if any failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.robust.fuzz")
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("--minutes", type=float, default=10.0)
    parser.add_argument("--cases", type=int, default=1_000_000)
    parser.add_argument("--first", type=int, help="seed of the first case; else a new one, which is printed")
    asked = parser.parse_args(words)
    first = random.randrange(1_000_000) if asked.first is None else asked.first
    end, failed, seed = time.monotonic() + 60.0 * asked.minutes, 0, first
    while seed < first + asked.cases and time.monotonic() < end:
        folder = Path(tempfile.mkdtemp(prefix="missionsim-fuzz-"))
        try:
            if wrong := KINDS[asked.kind](seed, folder):
                failed += 1
                print(f"seed {seed}: {wrong}\n", flush=True)
        finally:
            shutil.rmtree(folder, ignore_errors=True)
        seed += 1
    print(f"{asked.kind}: {seed - first} cases from seed {first}, {failed} failed")
    return int(failed > 0)


if __name__ == "__main__":
    sys.exit(main())
