"""Print what shop, waking hours and moves make of a study, beside what owners tell.

Usage: python -m missionsim.derive.check_practice [study.yaml | -] [replications]

The bands are weak judgement from owners' reports, not measurement; large differences want an explanation.
"""

from __future__ import annotations

import sys

import numpy as np

from missionsim.base.words import REASONS, Reason
from missionsim.study.compare.compare import Comparison, Result, compare
from missionsim.study.inputs.load_study import load_study
from missionsim.year.trips import local_time

SHOP_BANDS = ("days not available: 20 to 35 for a single at 100 h, 35 to 60 for a twin; lost or late for the machine: "
              "2 to 4 % of a single's trips; stranded away once in 80 to 150 trips")
MOST = 60


def main(arguments: list[str]) -> None:
    """Fly a study and print."""
    path = arguments[0] if arguments and arguments[0] != "-" else None
    replications = int(arguments[1]) if len(arguments) > 1 else 40
    found = compare(load_study(path), replications, keep=replications)
    print(f"{found.study.name}, {replications} simulated years\n\nThe shop ({SHOP_BANDS})")
    for result in found.results:
        print(_shop_line(result))
    print("\nMarks of completed trips, share of trips wanted, %")
    for result in found.results:
        print(f"  {result.name:28.28} " + "  ".join(f"{m} {100.0 * _mean(result, f'{m}_share'):.1f}"
                                                     for m in ("moved", "adapted", "marginal")))
    print("\nFuel stops with less than 60 nm on one side, %; flights that met less than the legal minima, of 1,000")
    for result in found.results:
        short, met = short_stops_share(result), met_below_per_1000_legs(result)
        print(f"  {result.name:28.28} stops {100.0 * short:5.1f}  meetings {met:5.2f}")
    print("\nDepartures of trips a year by hour of the day, local clock, all candidates")
    for hour, count in enumerate(departure_hours(found) / (replications * len(found.results))):
        if count:
            print(f"  {hour:02d} {count:6.2f} {'#' * min(MOST, round(4 * count))}")


def departure_hours(found: Comparison) -> np.ndarray:
    """Return how many flights of trips, fuel stops aside, leave in each hour of the local day, all years together."""
    counts = np.zeros(24, dtype=np.int64)
    zones = {a.ident: a.timezone for a in found.prepared.places.airports}
    for result in found.results:
        assert result.tally.kept is not None
        flights = result.tally.kept.flights
        first = (flights["purpose"] == "trip") & ~np.concatenate([[False], flights["is_stop"][:-1].astype(bool)])
        for time_h, ident in zip(flights["depart_h"][first], flights["from_ident"][first], strict=True):
            counts[local_time(float(time_h), zones[ident], found.study.year).hour] += 1
    return counts


def short_stops_share(result: Result, shortest_nm: float = 60.0) -> float:
    """Return the share of fuel stops with a shorter flight than this before or behind them; NaN without stops."""
    assert result.tally.kept is not None
    flights = result.tally.kept.flights
    stop = np.flatnonzero(flights["is_stop"][:-1].astype(bool))
    if not len(stop):
        return float("nan")
    distance_nm = flights["distance_nm"]
    return float((np.minimum(distance_nm[stop], distance_nm[stop + 1]) < shortest_nm).mean())


def met_below_per_1000_legs(result: Result) -> float:
    """Return how many flights under visual rules met less than the legal minima, of 1,000 flights of trips begun."""
    assert result.tally.kept is not None
    kept = result.tally.kept
    begun = np.count_nonzero(np.isin(kept.flights["purpose"], ["trip", "turned"]))
    return float(1000.0 * kept.trips["met_below"].sum() / max(begun, 1))


def _mean(result: Result, name: str) -> float:
    return float(result.measures[name]["mean"] or 0.0)


def _shop_line(result: Result) -> str:
    wanted, lost, stranded = (_mean(result, n) for n in ("trips_wanted", "trips_lost_to_shop", "stranded"))
    late = float(result.tally.delayed.mean(axis=0)[REASONS.index(Reason.MAINTENANCE)])
    away = wanted * _mean(result, "completed_share") + stranded
    return (f"  {result.name:28.28} {_mean(result, 'shop_days'):5.1f} days, {lost:4.1f} trips lost and {late:.1f} late "
            f"of {wanted:.0f} ({100.0 * (lost + late) / wanted:.1f} %), stranded once in "
            f"{away / stranded if stranded else np.inf:,.0f} trips, {_mean(result, 'nights_stranded'):.1f} nights, "
            f"{_mean(result, 'flight_hours'):.0f} h flown")


if __name__ == "__main__":
    main(sys.argv[1:])
