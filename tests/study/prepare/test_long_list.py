"""A long list is prepared, decided and flown as a short one: what differs is where it lies meanwhile."""

from __future__ import annotations

import numpy as np
from study_cases import small_study

from missionsim.base import aside
from missionsim.base.words import BIT, Reason
from missionsim.decide import runways
from missionsim.study.compare.compare import chunk_tallies
from missionsim.study.prepare import study as preparing
from missionsim.study.replicate.one_year import weather_of, year_of

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


def test_runways_looked_at_a_few_at_a_time_stop_the_same_flights(monkeypatch):
    prepared = preparing.prepare(small_study(trips=6))
    day = weather_of(prepared, 0)
    usual = [year_of(entrant, day, 0).rows for entrant in prepared.entrants]
    monkeypatch.setattr(runways, "MANY", 2)
    parts = [year_of(entrant, day, 0).rows for entrant in prepared.entrants]
    bits = np.uint32(BIT[Reason.RUNWAY] | BIT[Reason.SURFACE] | BIT[Reason.WIND])
    assert any((rows.reasons & bits).any() for rows in usual)
    for one, other in zip(parts, usual, strict=True):
        np.testing.assert_array_equal(one.reasons, other.reasons)
        np.testing.assert_array_equal(one.marginal, other.marginal)
