"""Pages of shared use: what must not hang on chance."""

from __future__ import annotations

from missionsim.base.words import REASONS
from missionsim.report.shared_page import common_reasons


def test_reasons_come_by_number_and_equals_by_name():
    # All but one alike: whatever order they are met in, nothing but their names is left to go by.
    alike = [str(reason) for reason in REASONS if str(reason) != "icing"]
    counts = [dict.fromkeys(reversed(alike), 0.1), {"icing": 9.0, "never_seen": 0.04}]
    assert common_reasons(counts) == ["icing", *sorted(alike)]
