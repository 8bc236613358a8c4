"""Every page about somebody who flies visually carries the caution of flying on into low weather."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from missionsim.report.partners_page import _cautions as of_partners
from missionsim.report.rates_page import _cautions as of_rates
from missionsim.report.wording import VISUAL_CAUTION


def _pilot(rating):
    return SimpleNamespace(rating=rating, model_fields_set={"rating"})


@pytest.mark.parametrize(("ratings", "told"), [(("instrument", "instrument"), False), (("instrument", "visual"), True)])
def test_a_partnership_with_one_visual_member(ratings, told):
    members = [SimpleNamespace(pilot=_pilot(rating)) for rating in ratings]
    assert (VISUAL_CAUTION in of_partners(SimpleNamespace(study=SimpleNamespace(members=members)))) == told


@pytest.mark.parametrize(("operation", "owner", "crew", "told"), [
    ("charter_on_certificate", "instrument", None, False), ("rental_leaseback", "instrument", None, True),
    ("rental_leaseback", "instrument", "instrument", False), ("charter_on_certificate", "visual", None, True)])
def test_hire_by_who_flies(operation, owner, crew, told):
    outside = SimpleNamespace(crew=SimpleNamespace(pilot=None if crew is None else _pilot(crew)))
    study = SimpleNamespace(spec=SimpleNamespace(operation=operation, outside=outside), pilot=_pilot(owner))
    assert (VISUAL_CAUTION in of_rates(SimpleNamespace(study=study))) == told
