"""Hours at which people leave and arrive, from a trip list."""

from __future__ import annotations

from datetime import datetime

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.world.airports.table import AirportTable
from missionsim.year.schedule import make_schedule
from missionsim.year.trips import Trip, TripTable


def hours(hour: int, adults: int = 1, must_go: bool = False) -> tuple[float, ...]:
    a = packaged_assumptions()
    table = AirportTable.packaged(a)
    airports = [table.find("KGRI"), table.find("KDEN")]
    trip = Trip("t", ("KGRI", "KDEN", "KGRI"), (datetime(2025, 6, 3, hour), datetime(2025, 6, 3, 16)), adults,
                must_go=must_go, earlier_h=3.0)
    made = make_schedule(TripTable((trip,), "KGRI", 2025), {"KGRI": 0, "KDEN": 1}, airports, a)
    return tuple(float(getattr(made, name)[0]) for name in (
        "local_h", "zone_shift_h", "earliest_local_h", "latest_local_h"))


@pytest.mark.parametrize(("hour", "adults", "must_go", "earliest_h", "latest_h"), [
    (8, 1, False, 6.0, 22.0), (8, 3, False, 7.0, 21.0), (8, 3, True, 5.5, 22.5),
    (5, 3, False, 5.0, 21.0),       # the list says five: then it is five
    (20, 2, False, 7.0, 21.5)])     # and who plans to leave at eight in the evening arrives after nine
def test_who_travels_decides_when(hour, adults, must_go, earliest_h, latest_h):
    assert hours(hour, adults, must_go) == (hour - 3.0, -1.0, earliest_h, latest_h)
