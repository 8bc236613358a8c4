"""Rates: what reaches the owner, crews, full cost by hours, against arithmetic by hand and published definitions."""

from __future__ import annotations

import numpy as np
import pytest

from missionsim.base.errors import ValidityError
from missionsim.money.hire_rates import Sale, crew_usd, least_rate_usd


def test_the_rate_pays_the_cost_out_of_what_is_kept():
    sale = Sale(operator_share=0.2, ticket_tax_share=0.075)
    assert sale.kept_share == pytest.approx(0.74)
    rate = float(least_rate_usd(37_000.0, 100.0, sale))
    assert rate == pytest.approx(500.0)  # 37,000 / 100 / 0.74
    assert rate * 100.0 * (1 - 0.075) * (1 - 0.2) == pytest.approx(37_000.0)
    with_margin = float(least_rate_usd(37_000.0, 100.0, sale, 0.1))
    revenue = with_margin * 100.0 * sale.kept_share
    assert (revenue - 37_000.0) / revenue == pytest.approx(0.1)
    assert np.isnan(least_rate_usd(1.0, 0.0, sale))


def test_somebody_must_keep_something():
    with pytest.raises(ValidityError, match="reaches the owner"):
        _ = Sale(1.0, 0.0).kept_share


def test_a_crew_by_hand():
    # Two days and one night: one pilot 2 x (550 + 60) + 130; a second at 0.6: 2 x (880 + 120) + 260.
    assert crew_usd(2.0, 1.0, 550.0, 60.0, 130.0, 1, 0.6) == pytest.approx(1_350.0)
    assert crew_usd(2.0, 1.0, 550.0, 60.0, 130.0, 2, 0.6) == pytest.approx(2_260.0)
