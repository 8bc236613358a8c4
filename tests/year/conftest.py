from __future__ import annotations

import sys
from pathlib import Path

# Tests share `stories` and `money_cases`; pytest's import mode puts no folder of tests on the path by itself.
for folder in (Path(__file__).parent, Path(__file__).parents[1] / "money"):
    sys.path.insert(0, str(folder))
