"""What the shop took, from records written by hand."""

from __future__ import annotations

import numpy as np
from money_cases import columns, trip, visit

from missionsim.base.words import BIT, Mark, Reason
from missionsim.study.replicate.shop_sums import mark_sums, shop_sums

REPLICATIONS = np.array([0, 1])


def test_days_trips_and_nights_of_the_shop_are_summed_by_replication():
    lost = {"reason": "maintenance", "reasons": BIT[Reason.MAINTENANCE]}
    _, trips, shop = columns([], [
        trip(0, 0, outcome="refused", **lost), trip(0, 1, outcome="broken_off", came_home_otherwise=True, **lost),
        trip(0, 2, outcome="delayed", nights_forced=2, **lost), trip(0, 3, outcome="refused", reason="ceiling"),
        trip(1, 0, nights_forced=1, reasons=BIT[Reason.CEILING])],
        [visit("annual", 0)._replace(start_h=-24.0, end_h=48.0), visit("fault", 0)._replace(start_h=100.0, end_h=112.0),
         visit("fault", 1)._replace(start_h=8748.0, end_h=9000.0)])
    days, refused_or_broken, stranded, nights = shop_sums(shop, trips, REPLICATIONS)
    assert days.tolist() == [2.5, 0.5]      # only what lies within the year
    assert refused_or_broken.tolist() == [2.0, 0.0]
    assert stranded.tolist() == [1.0, 0.0]
    assert nights.tolist() == [2.0, 0.0]


def test_marks_count_only_on_trips_that_were_made():
    _, trips, _ = columns([], [
        trip(0, 0, marks=int(Mark.MOVED | Mark.ADAPTED)), trip(0, 1, outcome="delayed", marks=int(Mark.MOVED)),
        trip(0, 2), trip(0, 3, outcome="refused"), trip(1, 0, outcome="broken_off", marks=int(Mark.MARGINAL))], [])
    assert [m.tolist() for m in mark_sums(trips, REPLICATIONS)] == [[2.0, 0.0], [1.0, 0.0], [0.0, 0.0],
                                                                  [1.0, 0.0]]
