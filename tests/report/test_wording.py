"""Words and numbers of the pages."""

from __future__ import annotations

import pytest

from missionsim.report.wording import some


@pytest.mark.parametrize(("value", "decimals", "text"), [
    (1.0, 0, "1 hour"), (1.04, 1, "1.0 hour"), (10.0, 0, "10 hours"), (100.0, 0, "100 hours"), (1.5, 1, "1.5 hours"),
    (0.0, 0, "0 hours")])
def test_one_alone_is_singular(value, decimals, text):
    assert some(value, "hour", decimals) == text
