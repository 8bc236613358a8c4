"""A long list is prepared, decided and flown as a short one: what differs is where it lies meanwhile."""

from __future__ import annotations

import numpy as np
from study_cases import small_study

from missionsim.base import aside
from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.prepare import study as preparing

SUMS = ("table", "categories", "structural", "on_the_day", "monthly", "by_trip", "trip_cents")


def test_a_long_list_laid_aside_flies_as_one_in_memory(monkeypatch):
    study = small_study(trips=4)
    usual = preparing.prepare(study, rental=True)
    monkeypatch.setattr(preparing, "MANY_LEGS", 7)
    monkeypatch.setattr(aside, "LARGE", 1)
    long = preparing.prepare(study, rental=True)
    assert len(usual.schedule.trip) == 8
    for made, aside_ in ((usual, False), (long, True)):
        assert made.flyers[0].plan.table.descent_h.flags.writeable != aside_
        assert made.sky.asked.latent.slow.flags.writeable != aside_
    for one, other in zip(chunk_tallies(long, range(2), 2), chunk_tallies(usual, range(2), 2), strict=True):
        for name in SUMS:
            np.testing.assert_array_equal(getattr(one, name), getattr(other, name))
