from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.page.figures import figure, shown


@pytest.mark.parametrize(("text", "value"), [
    ("", None), ("  ", None), ("?", "unknown"), ("Unknown", "unknown"), ("yes", True), ("no", False), ("1850", 1850),
    ("$131,500", 131_500), ("1,840 lb", 1840), ("6.5", 6.5), ("1830 to 1885", {"low": 1830, "high": 1885}),
    ("1830-1885", "1830-1885"), ("1830 – 1885", {"low": 1830, "high": 1885}),
    ("1830 / 1850 / 1885", {"low": 1830, "likely": 1850, "high": 1885}), ("two_axis", "two_axis"),
    ("1,23", "1,23"), ("-3", -3), ("nan", "nan"), ("1e5", "1e5"), ("12 kt", 12), ("12 bananas", "12 bananas"),
])
def test_typed_text(text, value):
    assert figure(text) == value
    assert type(figure(text)) is type(value)


numbers = st.integers(-10**9, 10**9) | st.floats(-1e6, 1e6).map(lambda x: float(f"{x:.4f}"))
figures = (numbers | st.booleans() | st.just("unknown")
           | st.fixed_dictionaries({"low": numbers, "high": numbers})
           | st.fixed_dictionaries({"low": numbers, "likely": numbers, "high": numbers}))


@given(figures)
def test_what_is_shown_reads_back(value):
    assert figure(shown(value)) == value
