"""Of the hours somebody waits, those that are not slept through."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from missionsim.base.arrays import Floats
from missionsim.base.assumptions import Assumptions


@dataclass(frozen=True, slots=True)
class WakingDay:
    """When people are awake: from `begins_local_h`, for so many `hours` of each day."""

    begins_local_h: float
    hours: float

    @classmethod
    def of(cls, assumptions: Assumptions) -> WakingDay:
        """Return the day of the assumptions."""
        return cls(assumptions["waking.wakes_local_h"], assumptions["time.waking_h"])

    @property
    def night_h(self) -> float:
        """Hours of a night's sleep."""
        return 24.0 - self.hours

    def waited_h(self, from_local_h: Floats, until_local_h: Floats) -> Floats:
        """Return the waking hours of each wait; nobody goes to bed for less than a night.

        Parameters
        ----------
        from_local_h, until_local_h : (n,) array   Local hours since the year began; nothing where the wait ends first.
        """
        long_h = np.maximum(until_local_h - from_local_h, 0.0)
        awake_h = self._awake_by(until_local_h) - self._awake_by(from_local_h)
        return np.where(long_h < self.night_h, long_h, awake_h)

    def _awake_by(self, local_h: Floats) -> Floats:
        """Return waking hours from the beginning of the year's first day on."""
        days, since_h = np.divmod(local_h - self.begins_local_h, 24.0)
        return np.asarray(days * self.hours + np.minimum(since_h, self.hours))
