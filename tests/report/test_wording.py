"""Words and numbers of the pages."""

from __future__ import annotations

import pytest

from missionsim.report.draw_money import FILLS
from missionsim.report.tables import span
from missionsim.report.wording import GROUPS, in_usd, some


@pytest.mark.parametrize(("value", "decimals", "text"), [
    (1.0, 0, "1 hour"), (1.04, 1, "1.0 hour"), (10.0, 0, "10 hours"), (100.0, 0, "100 hours"), (1.5, 1, "1.5 hours"),
    (0.0, 0, "0 hours")])
def test_one_alone_is_singular(value, decimals, text):
    assert some(value, "hour", decimals) == text


@pytest.mark.parametrize(("value", "step", "text"), [
    (1_234.0, 100.0, "$1,200"), (-1_234.0, 10.0, "−$1,230"), (-4.0, 10.0, "$0"), (0.0, 1.0, "$0"), (None, 1.0, "–")])
def test_the_minus_of_dollars_stands_before_their_sign(value, step, text):
    assert in_usd(value, step) == text


def test_ranges_below_zero_say_so_before_the_sign_too():
    assert span(-290.0, 6_310.0, 10.0) == "−$290 to 6,310"
    assert span(-5_000.0, -3_000.0) == "−$5,000 to −3,000"
    assert span(-290.0, 6_310.0, 10.0, "") == "−290 to 6,310"
    assert span(None, 1.0) == "–"


def test_no_two_groups_of_cost_look_alike():
    assert len(set(FILLS)) == len(FILLS) >= len(GROUPS)
