"""Pages of shared use: what must not hang on chance."""

from __future__ import annotations

import pytest

from missionsim.base.words import REASONS
from missionsim.report.shared_page import around, common_reasons
from missionsim.report.wording import percent


def test_reasons_come_by_number_and_equals_by_name():
    # All but one alike: whatever order they are met in, nothing but their names is left to go by.
    alike = [str(reason) for reason in REASONS if str(reason) != "icing"]
    counts = [dict.fromkeys(reversed(alike), 0.1), {"icing": 9.0, "never_seen": 0.04}]
    assert common_reasons(counts) == ["icing", *sorted(alike)]


@pytest.mark.parametrize(("mean", "low", "high", "text"), [
    (0.12, 0.10, 0.14, "12 (10 to 14) %"), (0.996, 0.991, 1.0, "99.6 (99.1 to 100.0) %"),
    (0.012, 0.004, 0.02, "1.2 (0.4 to 2.0) %"), (1.0, 1.0, 1.0, "100 %"), (0.997, 0.994, 0.999, "over 99 %")])
def test_shares_near_none_or_all_are_told_apart_from_their_intervals(mean, low, high, text):
    assert around({"mean": mean, "low": low, "high": high}, percent) == text
