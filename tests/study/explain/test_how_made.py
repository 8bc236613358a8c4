"""How a marginal flight is told, by hand: the wind of the hour flown, by the gates it was held against."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.study.explain.how_made import _wind
from missionsim.world.random_fields.hours import hour_index
from missionsim.year.looked_slots import LookedSlots


def hours_of(*local):
    return np.array([[int(hour_index(h)) for h in local]])


@pytest.mark.parametrize(("row", "clock"), [(0, "10:00"), (1, "11:00")])
def test_the_wind_is_that_of_the_hour_flown_and_of_the_gates_flown_by(row, clock):
    # Departure slots 18 to 21 are the four hours looked at; slot 20 was flown, the third column.
    looks = LookedSlots.of(np.isin(np.arange(24), range(18, 22))[None])
    marginal = np.zeros((3, 2))
    marginal[2, 0] = 1.0        # third hour of the first block
    schedule = SimpleNamespace(looks=looks, from_place=np.array([0]), to_place=np.array([1]))
    gates = tuple(SimpleNamespace(hours=SimpleNamespace(departure_i=hours_of(*range(8 + k, 12 + k)),
                                                        arrival_i=hours_of(*range(10 + k, 14 + k)))) for k in (0, 1))
    airports = [SimpleNamespace(ident=name, timezone="UTC") for name in ("AAA", "BBB")]
    prepared = SimpleNamespace(sky=SimpleNamespace(gates=gates), schedule=schedule, table=SimpleNamespace(year=2025),
                               places=SimpleNamespace(airports=airports))

    def air_at(place, hour):
        strong = place == 0
        return SimpleNamespace(gust_kt=[30.5 if strong else 20.0], mean_kt=[25.0 if strong else 15.0])

    year = SimpleNamespace(
        gate_row=row, plan=SimpleNamespace(pilot=SimpleNamespace(rules=SimpleNamespace(max_wind_kt=30.0,
                                                                                      max_gust_spread_kt=12.0))),
        log=SimpleNamespace(legs=[SimpleNamespace(leg=0, slot=20)]), weather=SimpleNamespace(marginal=marginal))
    day = SimpleNamespace(sky=SimpleNamespace(surface=SimpleNamespace(air_at=air_at)))
    told = list(_wind(SimpleNamespace(prepared=prepared, number=0), day, year, [0]))
    assert len(told) == 1
    assert f"at AAA at {clock}, 30 accepted" in told[0]
