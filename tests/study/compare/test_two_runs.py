"""Two runs held against each other: differences by hand, which years are common, what counts as changed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from study_cases import small_study

from missionsim.statistics.comparisons import separate_difference
from missionsim.study.compare.compare import compare
from missionsim.study.compare.two_runs import RunRecord, WayYears, record_of, two_runs

SAID = {"": {"prices.fuel_usd_per_gal": "6", "value_of_time_usd_per_h": "0"},
        "Dun": {"engine.tbo_h": "2000", "weights.empty_weight_lb": "1500"}}


def run(usd, made=None, **changes):
    made = made or [10.0] * len(usd)
    whole = RunRecord("plains", "1", 7, 2025, 1, len(usd), SAID, {"Dun": ("weights",)}, {"t1": "to KOMA"},
                      (WayYears("own", "Dun", tuple(usd), tuple(made)),), ("Dun costs least.",))
    return replace(whole, **changes)


def test_common_years_are_taken_year_by_year():
    found = two_runs(run([100.0, 200.0, 600.0]), run([110.0, 220.0, 630.0], [9.0, 10.0, 8.0]))
    (effect,) = found.effects
    assert found.common == 3
    assert effect.usd == (300.0, 320.0)
    assert effect.more_usd["mean"] == pytest.approx(20.0)      # 10, 20, 30: sd 10, error 10 / sqrt 3, t(2) 4.3027
    assert effect.more_usd["high"] - 20.0 == pytest.approx(4.302653 * 10.0 / 3 ** 0.5, rel=1e-6)
    assert effect.more_made["mean"] == pytest.approx(-1.0)


def test_of_runs_of_different_length_the_first_common_years_count():
    found = two_runs(run([100.0, 200.0, 9_000.0]), run([110.0, 220.0]))
    assert (found.common, found.effects[0].usd) == (2, (150.0, 165.0))


@pytest.mark.parametrize("change", [{"seed": 8}, {"year": 2026}, {"years": 6}, {"program": "2"}])
def test_years_that_are_not_the_same_are_not_paired(change):
    a, b = run([100.0, 200.0, 600.0]), run([110.0, 220.0, 630.0], **change)
    found = two_runs(a, b)
    assert found.common == 0
    assert str(next(iter(change.values()))) in found.why_not
    if "years" not in change:                                  # the spread of single years, not of their differences
        assert found.effects[0].more_usd["high"] - 20.0 > 400.0


def test_separate_years_by_hand():
    # 1, 3 and 2, 4, 6: variances 2 and 4, errors squared 1 and 4/3; freedom (7/3)^2 / (1 + (16/9)/2) = 2.8823529
    found = separate_difference([2.0, 4.0, 6.0], [1.0, 3.0])
    assert found["mean"] == pytest.approx(2.0)
    assert (found["high"] - 2.0) / (7.0 / 3.0) ** 0.5 == pytest.approx(3.2602, abs=0.02)   # t between 2 and 3 degrees
    assert separate_difference([5.0, 5.0], [3.0, 3.0]) == {"mean": 2.0, "low": 2.0, "high": 2.0}
    assert separate_difference([5.0], [3.0, 4.0]) == {"mean": 1.5, "low": None, "high": None}


def test_few_ownerships_tell_no_interval():
    usd = np.arange(70.0)
    found = two_runs(run(usd, years=6), run(usd + 1.0, years=6))
    assert found.effects[0].more_usd == {"mean": 1.0, "low": None, "high": None}
    found = two_runs(run(np.arange(80.0), years=6), run(np.arange(80.0) + 1.0, years=6))
    assert found.effects[0].more_usd == {"mean": 1.0, "low": 1.0, "high": 1.0}


def test_what_was_changed_and_what_only_followed():
    new = {"": {"prices.fuel_usd_per_gal": "9", "value_of_time_usd_per_h": "0", "kept": "tie_down"},
           "Dun": {"engine.tbo_h": "2000", "weights.empty_weight_lb": "1550"}, "Roan": {"engine.tbo_h": "1800"}}
    found = two_runs(run([1.0, 2.0]), run([1.0, 2.0], said=new, trips={"t1": "to KLNK", "t2": "to KDSM"}))
    told = {(c.whose, c.key): (c.before, c.after) for c in found.changed}
    assert told == {("", "prices.fuel_usd_per_gal"): ("6", "9"), ("", "kept"): ("not said", "tie_down"),
                    ("Roan", ""): ("does not take part", "takes part"),
                    ("trips", "t1"): ("to KOMA", "to KLNK"), ("trips", "t2"): ("not among them", "to KDSM")}
    assert (found.followed, found.trips_differ) == (1, True)


def test_an_answer_in_place_of_a_guess_is_a_change():
    new = {**SAID, "Dun": {"engine.tbo_h": "2000", "weights.empty_weight_lb": "1550"}}
    (change,) = two_runs(run([1.0, 2.0]), run([1.0, 2.0], said=new, guessed={"Dun": ()})).changed
    assert (change.before, change.after) == ("1500 (our guess)", "1550")


def test_who_takes_part_in_one_run_alone_is_named():
    other = WayYears("own", "Roan", (1.0, 2.0), (1.0, 1.0))
    found = two_runs(run([1.0, 2.0]), run([1.0, 2.0], ways=(other,)))
    assert (found.only, found.effects) == ((("Dun",), ("Roan",)), ())


def test_a_dearer_gallon_is_the_only_change_and_costs_what_the_years_say():
    study = small_study(trips=6)
    dear = small_study(trips=6, prices=study.spec.prices.model_copy(update={"fuel_usd_per_gal": 9.0}))
    before, after = (compare(s, 4) for s in (study, dear))
    found = two_runs(record_of(before, ("a",)), record_of(after, ("b",)))
    assert [(c.whose, c.key) for c in found.changed] == [("", "prices.fuel_usd_per_gal")]
    assert found.common == 4
    for i, name in enumerate(before.names):
        effect = next(e for e in found.effects if e.name == name)
        assert effect.more_usd["mean"] == pytest.approx((after.cost_years(i) - before.cost_years(i)).mean(), abs=0.01)
        assert effect.more_usd["low"] > 0.0
        assert effect.more_made["mean"] == 0.0
