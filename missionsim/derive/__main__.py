"""Rebuild every derived table from the open data, and draw the page to look at: `python -m missionsim.derive`.

Airports, terrain and water change no weather and take minutes; `--weather` leaves them out.
"""

from __future__ import annotations

import argparse
import runpy
import sys

WEATHER = ("upper_air", "surface", "weather_page")
OTHERS = ("airports", "terrain", "water")


def main() -> None:
    """Run the build scripts one after the other, each with its own defaults."""
    parser = argparse.ArgumentParser(prog="python -m missionsim.derive", description=__doc__)
    parser.add_argument("--weather", action="store_true", help="only the tables of winds and surface weather")
    names = WEATHER if parser.parse_args().weather else (*OTHERS, *WEATHER)
    for name in names:
        sys.argv = [name]
        runpy.run_module(f"missionsim.derive.{name}", run_name="__main__")


if __name__ == "__main__":
    main()
