"""Finished studies of shared use: what partnerships and hire have in common."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

import numpy as np

from missionsim.base.arrays import Array
from missionsim.base.parallel import Progress
from missionsim.base.words import REASONS
from missionsim.statistics.intervals import Measure, measure, ratio_measure, within
from missionsim.study.inputs.load_study import Study
from missionsim.study.prepare.coverage import not_covered
from missionsim.study.prepare.open_water import open_water
from missionsim.study.shared_use.years import SharedUse, fly_years

T = TypeVar("T")
U = TypeVar("U", bound=SharedUse[Any])
C = TypeVar("C")
NOT_PRINTED: Mapping[str, bool] = {"printed": False}
"""Metadata of what a candidate keeps for further questions and no printed object shows."""


@dataclass(frozen=True)
class SharedResult(Generic[U, C]):
    """A finished study of shared use, one entry a candidate, each ready for a table or for JSON."""

    use: U = field(repr=False)
    replications: int
    candidates: tuple[C, ...]

    @property
    def study(self) -> Study:
        """The study."""
        return self.use.study

    @property
    def ways_told(self) -> tuple[str, ...]:
        """Where ground or weather were not known, and which flights with one engine cross open water."""
        prepared = self.use.group.prepared
        return (*not_covered(*prepared), *open_water(*prepared))


def result_of(use: U, told: Callable[[U, int, Any], C], replications: int | None = None, workers: int = 1,
              progress: Progress | None = None) -> SharedResult[U, C]:
    """Fly a study of shared use and return what is told of each candidate.

    Parameters
    ----------
    use : SharedUse
    told : callable                Given the study, a candidate's row and its sums.
    replications : int, optional   Simulated years, else the study's own number.
    workers, progress              As those of `years.fly`.
    """
    count = replications or use.study.replications
    sums = fly_years(use, count, workers, progress)
    return SharedResult(use, count, tuple(told(use, number, own) for number, own in enumerate(sums)))


def share_measure(part: Array, whole: Array) -> Measure:
    """Return a share as a ratio of sums."""
    return within(ratio_measure(part, whole), 0.0, 1.0)


def count_measure(values: Array) -> Measure:
    """Return a measure of trips, days or hours: an interval of few years does not fall below none."""
    return within(measure(values), 0.0)


def mean_reasons(counts: Array) -> dict[str, float]:
    """Return mean refused trips by reason, those that never happen left out."""
    mean = np.asarray(counts.mean(axis=0))
    return {str(reason): float(mean[i]) for i, reason in enumerate(REASONS) if mean[i] > 0.0}
