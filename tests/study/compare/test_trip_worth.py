"""From what value of an hour on a trip is worth flying: by hand, and on a flown study."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.study.compare.compare import compare
from missionsim.study.compare.trip_worth import trip_worth, worth_it_at
from missionsim.study.compare.where_each_wins import added_usd_per_h


def test_dollars_more_over_hours_saved():
    assert worth_it_at(300.0, 6.0) == 50.0
    assert worth_it_at(-10.0, 2.0) == 0.0        # cheaper and faster: at any value
    assert worth_it_at(0.0, 0.0) == 0.0
    assert worth_it_at(300.0, -1.0) is None      # dearer and slower: at none
    assert worth_it_at(-10.0, -1.0) is None      # cheaper and slower: the other way round


def test_trips_of_a_study_add_up_to_what_flying_costs_more():
    found = compare(small_study(trips=6), 4)
    rows = trip_worth(found)
    part = found.results[found.lead].tally
    assert len(rows) == 6
    assert sum(r.made_share for r in rows) * 4 == pytest.approx(part.column("completed").sum())
    t = part.trips
    wanted = np.bincount(t.trip, minlength=6)
    for share in (0.0, 1.0):
        known = found.study.assumptions.replaced({"explain.worth_from_share": share})
        study = replace(found.study, assumptions=known)
        counted = trip_worth(replace(found, prepared=replace(found.prepared, study=study)))
        least = np.maximum(share * wanted, 1)
        assert [r.counted for r in counted] == [4 * r.made_share >= n for r, n in zip(rows, least, strict=True)]
    booked = np.where(t.made, t.flown_usd - np.where(t.other_given_up, t.other_value_usd, t.other_usd), 0.0).sum()
    block_h = part.trip_sum[[r.made_share > 0.0 for r in rows], 0].sum()
    share = part.column("flight_hours").mean() / part.column("block_hours").mean()
    whole = booked + added_usd_per_h(found, found.lead).mean() * block_h * share
    assert sum(r.more_usd * r.made_share * 4 for r in rows if r.more_usd is not None) == pytest.approx(whole, rel=1e-6)
