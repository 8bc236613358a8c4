"""Print how well the answer says how sure it is: stated against true chances, coverage of intervals and points.

python -m missionsim.derive.check_answer              # closed models with known truth: a minute
python -m missionsim.derive.check_answer demo [years] # the demo, in blocks of many of its years flown once: 6 minutes
python -m missionsim.derive.check_answer fly FILE FIRST LAST   # the demo under the seeds FIRST to LAST, 100 years each
python -m missionsim.derive.check_answer seeds FILE...         # what those flown hold, at 20 and at 100 years
"""

from __future__ import annotations

import sys
from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import numpy as np

from missionsim.base.arrays import Floats, Ints
from missionsim.statistics.intervals import mean_interval, measure, pooled_points
from missionsim.statistics.joint_chances import chances, joint_means
from missionsim.study.compare.compare import compared, flown_tallies
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare

PRIOR_ERRORS = 4.0 / 3.0
BANDS = (0.5, 0.6, 0.7, 0.8, 0.9, 1.0)


def calibration(scatter: float, years: int, pairs: int, seed: int = 1) -> list[tuple[float, float, int]]:
    """Return stated chance, share that came true and pairs by band of ten, for pairs with known true differences.

    Parameters
    ----------
    scatter : float   Of the true differences about zero, in standard errors of what the years tell.
    years, pairs : int
    """
    rng = np.random.default_rng(seed)
    said, right = np.empty(pairs), np.empty(pairs, dtype=bool)
    for i in range(pairs):
        true = rng.normal(0.0, scatter * (2.0 / years)**0.5)
        year = rng.normal(0.0, 1.0, (2, years))
        year[1] += true
        mean = year.mean(axis=1)[:, None]
        share = chances(joint_means(mean, year - mean, np.zeros_like(year), (0, 1), PRIOR_ERRORS, rng), (0, 1))
        lead = int(np.argmin(mean))
        said[i], right[i] = share[lead], (true > 0.0) == (lead == 0)
    found = []
    for low, high in pairwise(BANDS):
        inside = (said >= low) & ((said < high) | (high == 1.0))
        found.append((float(said[inside].mean()), float(right[inside].mean()), int(inside.sum())))
    return found


def covered(years: int, seeds: int, seed: int = 2) -> tuple[float, float, float]:
    """Return shares of seeds in which truth lies inside: the mean, the 10 and the 90 % point of lognormal years."""
    rng, spread = np.random.default_rng(seed), 0.3
    truth = np.exp(0.5 * spread**2), np.exp(-1.2815515655446004 * spread), np.exp(1.2815515655446004 * spread)
    hits = np.zeros((seeds, 3))
    for i in range(seeds):
        found = measure(np.exp(rng.normal(0.0, spread, years)))
        for k, (low, high) in enumerate((("low", "high"), ("p10_low", "p10_high"), ("p90_low", "p90_high"))):
            a, b = found[low], found[high]
            hits[i, k] = np.nan if a is None or b is None else a <= truth[k] <= b
    share = hits.mean(axis=0)
    return float(share[0]), float(share[1]), float(share[2])


def new_years(years: int, tries: int, seed: int = 3) -> float:
    """Return the share of new years with newly drawn prices that fall between the stated 10 and 90 % points."""
    rng, inside = np.random.default_rng(seed), 0
    for _ in range(tries):
        price = np.exp(rng.normal(0.0, 0.1, 1_000))
        found = pooled_points(np.exp(rng.normal(0.0, 0.15, years))[:, None] * price)
        new = float(np.exp(rng.normal(0.0, 0.15)) * np.exp(rng.normal(0.0, 0.1)))
        low, high = found["p10"], found["p90"]
        inside += low is not None and high is not None and low <= new <= high
    return inside / tries


def demo(years: int, tries: int, seed: int = 4) -> str:
    """Return how intervals and points of the demo hold against many of its years, flown once.

    Replications draw weather, people, luck and open figures anew, so that disjoint blocks of them are studies under as
    many seeds. Truth is the mean of all. A new year is one outside the block that stated the points, at a draw of
    prices that did not state them either: half of the draws state, half are new.
    """
    ready = prepare(load_study(), rental=True)
    found = compared(ready, flown_tallies(ready, years, keep=0))
    assert found.certainty is not None
    cost = found.certainty.priced.cost[:len(found.names)]
    lines = []
    for block in (20, 100):
        groups = np.arange(years - years % block).reshape(-1, block)
        for name, one in zip(found.names, cost, strict=True):
            hits, inside = _held(one, groups), _inside(one, groups, tries, np.random.default_rng(seed))
            lines.append(f"  {block:>3} years, {name}: mean of {years} inside the 95 % interval in {hits} of "
                         f"{len(groups)} blocks; new years at new prices inside p10 to p90 in {inside:.3f} of {tries}")
    return "\n".join(lines)


def fly_seeds(file: Path, seeds: range, years: int = 100) -> None:
    """Fly the demo under each seed, prepared anew, and keep its costs by candidate, year and price draw."""
    study, costs = load_study(), []
    for seed in seeds:
        ready = prepare(replace(study, seed=seed), rental=True)
        found = compared(ready, flown_tallies(ready, years), brief=True)
        assert found.certainty is not None
        costs.append(found.certainty.priced.cost[:len(found.names)].astype(np.float32))
    np.savez(file, cost=np.array(costs), names=np.array(found.names))


def seeds_held(files: list[Path]) -> str:
    """Return how intervals and points of the demo hold, each stated under a seed of its own.

    Truth is what all seeds together tell: the mean, and the 10 and 90 % points over their years and price draws. New
    years are all those of the other seeds at all of their price draws.
    """
    kept, lines = [np.load(file) for file in files], []
    cost = np.concatenate([k["cost"] for k in kept])
    for years in (20, 36, 100):
        for i, name in enumerate(kept[0]["names"]):
            own = cost[:, i].astype(np.float64)
            every = np.sort(own.reshape(len(own), -1), axis=1)
            truth = {"": own.mean()} | {p: float(np.quantile(own, q)) for p, q in (("p10_", 0.1), ("p90_", 0.9))}
            said = [dict(zip(("mean", "low", "high"), mean_interval(one[:years].mean(axis=1)), strict=True))
                    | pooled_points(one[:years]) for one in own]
            held = [_share([_holds(s[p + "low"], s[p + "high"], t) for s in said]) for p, t in truth.items()]
            inside = np.array([_between(np.delete(every, k, axis=0), s["p10"], s["p90"]) for k, s in enumerate(said)])
            lines.append(f"  {years:>3} years, {name}: inside in {len(own)} seeds: mean {held[0]}, 10 % point "
                         f"{held[1]}, 90 % point {held[2]}; new years at new prices inside p10 to p90 in "
                         f"{inside.mean():.3f} +- {inside.std(ddof=1) / len(own)**0.5:.3f}")
    return "\n".join(lines)


def _between(rows: Floats, low: float | None, high: float | None) -> float:
    """Return the share of values between two; each row stands in order."""
    if low is None or high is None:
        return float("nan")
    return float(np.mean([np.searchsorted(row, high, "right") - np.searchsorted(row, low) for row in rows])
                 / rows.shape[1])


def _holds(low: float | None, high: float | None, truth: float) -> bool | None:
    """Return whether a stated range holds a value; None where none is stated."""
    return None if low is None or high is None else low <= truth <= high


def _share(held: list[bool | None]) -> str:
    """Return a count of what held, in words."""
    return "withheld" if None in held else f"{sum(map(bool, held))}"


def _held(cost: Floats, groups: Ints) -> int:
    """Return in how many blocks the interval of the mean holds the mean of all years."""
    by_year = cost.mean(axis=1)
    found = [mean_interval(by_year[rows])[1:] for rows in groups]
    return sum(low is not None and high is not None and low <= by_year.mean() <= high for low, high in found)


def _inside(cost: Floats, groups: Ints, tries: int, rng: np.random.Generator) -> float:
    """Return the share of tries in which a new year at a new draw lies between the points that a block states."""
    half, hits = cost.shape[1] // 2, 0
    points = [pooled_points(cost[rows][:, :half]) for rows in groups]
    for k in range(tries):
        group = k % len(groups)
        year = int(rng.integers(len(cost)))
        while year in groups[group]:
            year = int(rng.integers(len(cost)))
        low, high = points[group]["p10"], points[group]["p90"]
        new = cost[year, half + int(rng.integers(cost.shape[1] - half))]
        hits += low is not None and high is not None and low <= new <= high
    return hits / tries


def main() -> None:
    """Print the tables."""
    if sys.argv[1:2] == ["fly"]:
        fly_seeds(Path(sys.argv[2]), range(int(sys.argv[3]), int(sys.argv[4]) + 1))
        return
    if sys.argv[1:2] == ["seeds"]:
        print(seeds_held([Path(file) for file in sys.argv[2:]]))
        return
    if sys.argv[1:2] == ["demo"]:
        print(demo(int(sys.argv[2]) if len(sys.argv) > 2 else 1_200, 600))
        return
    print("Chance that its average year is the cheapest: stated / came true (pairs), 16,000 pairs each")
    for years in (20, 100):
        for scatter in (1.0, 2.0):
            cells = "  ".join(f"{s:.2f}/{t:.2f} ({n})" for s, t, n in calibration(scatter, years, 16_000))
            print(f"  {years:>3} years, true differences of {scatter:g} errors: {cells}")
    print("Truth inside in 400 seeds of lognormal years: mean, 10 % point, 90 % point (intervals of 95 %)")
    for years in (20, 36, 100):
        shares = ", ".join("withheld" if np.isnan(v) else f"{v:.3f}" for v in covered(years, 400))
        print(f"  {years:>3} years: {shares}")
    print("New years with newly drawn prices between the stated 10 and 90 % points, 600 tries (0.80 is right)")
    for years in (20, 100):
        print(f"  {years:>3} years: {new_years(years, 600):.3f}")


if __name__ == "__main__":
    main()
