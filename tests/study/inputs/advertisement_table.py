"""Print how many figures of the invented advertisements are read, missed and read wrong.

python -m tests.study.inputs.advertisement_table   (with tests/helpers on the path)
"""

from __future__ import annotations

import sys
from collections import Counter

from advertisement_cases import CASES, NOTHING, TODAY, verdict
from advertisement_layouts import LAYOUTS

from missionsim.study.inputs.advertisement.read import read_advertisement


def main() -> None:
    """Print one line an advertisement and the sum."""
    total: Counter[str] = Counter()
    print("| advertisement | figures | hit | miss | wrong | clauses not understood |\n|---|---|---|---|---|---|")
    faults = []
    for case in CASES + LAYOUTS:
        found = read_advertisement(case.text, TODAY)
        counts = Counter(verdict(expected, found.get(key)) for key, expected in case.says.items())
        total += counts
        print(f"| {case.name} | {len(case.says)} | {counts['hit']} | {counts['miss']} | {counts['wrong']} "
              f"| {len(found.unread)} |")
        faults += [f"{case.name}: {key}: expected {'nothing' if e is NOTHING else e!r}, read {found.get(key)!r}"
                   for key, e in case.says.items() if verdict(e, found.get(key)) != "hit"]
    print(f"| all {len(CASES + LAYOUTS)} | {total.total()} | {total['hit']} | {total['miss']} | {total['wrong']} | |")
    print("\n".join(faults), file=sys.stderr)


if __name__ == "__main__":
    main()
