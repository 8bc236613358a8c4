"""A margin told beside the two numbers it lies between is their difference, as a reader works it out."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.study.replicate.exact_reasons import Gap, beside


def read(text):
    return float(text.replace(",", "").replace("−", "-"))


@pytest.mark.parametrize(("less", "more", "told"), [
    (226.6, 400.0, ("227", "400", 173.0, "173")),                # 173.4 by itself, which would round up to 174
    (1_999.5, 3_170.0, ("2,000", "3,170", 1_170.0, "1,170")),
    (399.6, 400.0, ("399.6", "400.0", 0.4, "0.4")),              # 400 of 400 would be short of nothing
    (2_400.0, 2_400.03, ("2,400.00", "2,400.03", 0.03, "0.03")),
    (-49.6, 400.0, ("−50", "400", 450.0, "450")),                # it sinks there
])
def test_gaps_by_hand(less, more, told):
    gap = Gap.between(less, more)
    assert (gap.less, gap.more, gap.margin, gap.shown) == told


@given(st.floats(-2_000.0, 30_000.0), st.floats(0.002, 20_000.0))
def test_the_margin_is_the_difference_of_what_is_written(less, lack):
    gap = Gap.between(less, less + lack)
    assert read(gap.more) - read(gap.less) == pytest.approx(read(gap.shown), abs=1e-6)
    assert read(gap.shown) == pytest.approx(gap.margin, abs=1e-9)
    assert gap.margin > 0.0
    assert gap.margin == pytest.approx(lack, abs=1.0)      # half a unit from either rounding
    assert not re.search(r"-", gap.less + gap.more)


def test_a_number_beside_its_limit_is_never_written_like_it():
    assert [beside(v, 25.0) for v in (31.2, 25.3, 25.04)] == ["31", "25.3", "25.04"]
