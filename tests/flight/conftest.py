from __future__ import annotations

import sys
from pathlib import Path

# Tests share `flight_cases`; pytest's import mode puts no folder of tests on the path by itself.
sys.path.insert(0, str(Path(__file__).parent))
