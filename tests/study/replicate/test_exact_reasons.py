"""What is said of fuel that neither tanks nor load have room for, worked by hand."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from missionsim.base.words import BIT, Reason
from missionsim.study.explain.refusals import ReasonShare, _change, _Judged, _margin
from missionsim.study.replicate.exact_reasons import NOR_TANKS, TO_FILL, _payload, _range

USABLE_GAL, TAXI_GAL, LB_PER_GAL = 53.0, 1.0, 6.0


def flight(required_gal, room_gal):
    """Return one flight that wants so much fuel, with a load that leaves room for so much at lift-off."""
    fuel = SimpleNamespace(usable_gal=USABLE_GAL, taxi_gal=TAXI_GAL, lb_per_gal=LB_PER_GAL)
    exact = SimpleNamespace(required_gal=np.array([required_gal]), landing_lb=np.array([2_000.0]),
                            plans=SimpleNamespace(reasons=np.array([[BIT[Reason.RANGE]]])))
    profile = SimpleNamespace(max_takeoff_lb=2_646.0, max_landing_lb=2_646.0,
                              weights=SimpleNamespace(max_zero_fuel_lb=None, max_takeoff_lb=2_646.0))
    found = SimpleNamespace(exact=exact, allowed_gal=np.array([min(room_gal, USABLE_GAL)]))
    return SimpleNamespace(found=found, profile=profile, plan=SimpleNamespace(fuel=fuel), trip=lambda k: 0,
                           loads=SimpleNamespace(zero_fuel_lb=np.array([2_553.0])), most_bags_lb=lambda k: 60.0,
                           bags_lb=np.array([60.0]))


def test_a_load_that_keeps_fuel_out_of_the_tanks_says_what_would_fill_them():
    judged = flight(59.0, 15.5)
    (weight,), (tanks,) = _payload(judged, 0), _range(judged, 0)
    # 53 gal less the one burned in taxi and the 15.5 there is room for: 36.5 gal at 6 lb.
    assert (weight.margin, weight.unit) == (219.0, "lb")
    assert weight.words == "219 lb too heavy to fill the tanks: the load leaves room for 15.5 of 53 gal"
    assert tanks.words == ("6.0 gal short of what tanks of 53 gal hold, reserve counted; nor would larger tanks help: "
                           "the load leaves room for 15.5 gal, and with that no fuel stop helps")


def test_tanks_that_the_load_lets_fill_are_short_by_themselves():
    judged = flight(59.0, 80.0)
    assert list(_payload(judged, 0)) == []
    (tanks,) = _range(judged, 0)
    assert tanks.words == "6.0 gal short of what tanks of 53 gal hold, reserve counted; no fuel stop helps"


def test_fuel_that_the_tanks_hold_is_over_by_its_own_weight():
    (weight,) = _payload(flight(50.0, 15.5), 0)
    assert weight.margin == (50.0 - 1.0 - 15.5) * LB_PER_GAL
    assert weight.words == "201 lb over the take-off limit of 2,646 lb with the fuel required"


@pytest.mark.parametrize(("reason", "find", "marker", "kind", "told"), [
    (Reason.PAYLOAD, _payload, TO_FILL, "load",
     "219 lb less on board would let the tanks be filled; it may then go with a fuel stop"),
    (Reason.RANGE, _range, NOR_TANKS, "aircraft",
     "another aircraft, or less on board and a fuel stop: larger tanks alone would not help")])
def test_larger_tanks_are_not_named_as_the_change_where_weight_keeps_them_empty(reason, find, marker, kind, told):
    whys = list(find(flight(59.0, 15.5), 0))
    assert marker in whys[0].words
    change = _change((ReasonShare(reason, 1.0),), (_margin(whys),), _Judged(1, why={reason: whys}), 0, 1)
    assert (change.kind, change.words) == (kind, told)
    plain = list(_range(flight(59.0, 80.0), 0))
    change = _change((ReasonShare(Reason.RANGE, 1.0),), (_margin(plain),), _Judged(1, why={Reason.RANGE: plain}), 0, 1)
    assert change.words == "6 gal more in the tanks would make it go"
