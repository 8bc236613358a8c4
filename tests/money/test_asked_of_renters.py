from __future__ import annotations

import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.money.insurance import PilotExperience
from missionsim.money.renting import asked_of_renters

ASSUMPTIONS = packaged_assumptions()  # 150 hours for a retractable or more than 200 hp


@pytest.mark.parametrize(("retractable", "engines", "hp", "total_h", "said"), [
    (False, 1, 180.0, 60.0, ""),
    (False, 1, 200.0, 60.0, ""),
    (False, 1, 230.0, 60.0, "owners ask about 150 hours for such an aircraft, this pilot has 60"),
    (True, 1, 180.0, 149.0, "owners ask about 150 hours for such an aircraft, this pilot has 149"),
    (True, 1, 180.0, 150.0, ""),
    (True, 2, 180.0, 3_000.0, "twins are hardly rented out without an instructor"),
])
def test_what_owners_ask_of_renters(retractable, engines, hp, total_h, said):
    assert asked_of_renters(retractable, engines, hp, PilotExperience(total_h=total_h), ASSUMPTIONS) == said
