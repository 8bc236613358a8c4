"""A generated year may hold no trip at all: what is kept of it comes back as it was."""

from __future__ import annotations

from dataclasses import fields

import numpy as np

from missionsim.study.replicate.trip_years import TripPacking, TripYears

KINDS = {"replication": np.int64, "trip": np.int64, "given_up": np.bool_, "must_go": np.bool_, "marks": np.uint8,
         "other_airline": np.bool_, "other_on_dates": np.bool_, "outcome": np.uint8, "reason": np.int8}


def test_no_trips_are_kept_as_no_trips():
    none = TripYears(**{f.name: np.zeros(0, dtype=KINDS.get(f.name, np.float32)) for f in fields(TripYears)})
    again = TripPacking().unpacked(TripPacking().packed(none))
    for f in fields(TripYears):
        before, after = getattr(none, f.name), getattr(again, f.name)
        assert (after.shape, after.dtype) == ((0,), before.dtype), f.name
