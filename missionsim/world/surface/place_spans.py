"""Ceiling and visibility at the few places where an aircraft turns up unplanned, in spans of half a day."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

import numpy as np

from missionsim.base.arrays import Floats32, Ints
from missionsim.world.random_fields.hours import HOURS
from missionsim.world.surface.station_climate import BLOCKS, MONTHS

SPAN_H = 12
"""Hours read together; a divisor of a day."""
_SPANS = HOURS // SPAN_H
_HOUR = np.arange(SPAN_H)[:, None]


class CellLook(Protocol):
    """The month and block of the day that hours at places fall into; see `climate.SurfaceClimate.cell`."""

    def cell(self, place: Ints, hour: Ints) -> Ints:
        """Return the cell of pairs of place and hour index."""
        ...


class HoursReader(Protocol):
    """A field that is read several hours at a time; see `field.FieldYear.hours`."""

    def hours(self, place: Ints, hour: Ints, count: int) -> Floats32:
        """Return so many hours from pairs of place and hour index on, [count, n]."""
        ...


class PlaceSpans:
    """The latent rank of one replication at single places, in plain numbers, kept for all who come there.

    A few hours take as long to read as half a day does, and most candidates come to the same places on the same bad
    days: of five looks three find all of their hours here.

    Parameters
    ----------
    climate : CellLook
    field : HoursReader
    """

    def __init__(self, climate: CellLook, field: HoursReader) -> None:
        self._climate, self._field = climate, field
        self._spans: dict[int, tuple[list[float], list[int]]] = {}

    def read(self, pairs: Iterable[tuple[int, int]]) -> None:
        """Read in one go the spans of pairs of place and hour index that nobody has looked at."""
        new = list({key for place, hour in pairs if (key := place * _SPANS + hour // SPAN_H) not in self._spans})
        if not new:
            return
        place, span = np.divmod(np.array(new, dtype=np.int64), _SPANS)
        ranks = self._field.hours(place, SPAN_H * span, SPAN_H)
        cells = self._climate.cell(place, SPAN_H * span + _HOUR)
        self._spans.update(zip(new, zip(ranks.T.tolist(), cells.T.tolist(), strict=True), strict=True))

    def below(self, thresholds: Floats32, place: int, hour: int) -> bool:
        """Return whether the weather is below minima; see `SurfaceYear.below`.

        Parameters
        ----------
        thresholds : (p, month, block) array
        place : int    Row of the place.
        hour : int     Hour index.
        """
        key, within = place * _SPANS + hour // SPAN_H, hour % SPAN_H
        if key not in self._spans:
            self.read([(place, hour)])
        ranks, cells = self._spans[key]
        # As plain numbers both are what they are in single precision.
        return ranks[within] < thresholds.item(place * MONTHS * BLOCKS + cells[within])
