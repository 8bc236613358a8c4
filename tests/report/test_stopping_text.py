"""The sentence on how many years were enough, and where it stands."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from missionsim.report.contract import comparison_json
from missionsim.report.html import report_html
from missionsim.report.run_file import run_object
from missionsim.report.stopping_text import stopping_text
from missionsim.study.compare.stopping import Stopping

ENOUGH = Stopping("net_cost_usd", 500.0, 480.2, 30, 1000, 140, True)


def test_a_number_of_years_left_to_a_width_says_so(comparison):
    stopped = replace(comparison, stopping=ENOUGH)
    assert "Their number was left to the width asked for: 140 simulated years were enough" in report_html(stopped)
    assert run_object(stopped)["stopping"]["within_usd"] == 500.0
    assert json.loads(comparison_json(stopped, None))["stopping"]["reached_usd"] == 480.2
    assert "left to the width" not in report_html(comparison)
    assert "stopping" not in run_object(comparison)


@pytest.mark.parametrize(("found", "words"), [
    (ENOUGH, "140 simulated years were enough: the mean difference in yearly net cost to every other candidate is known"
             " within ± 481 dollars (95 %); ± 500 dollars were asked for."),
    (replace(ENOUGH, reached_usd=499.9, within_usd=499.95), "within ± 499.95 dollars (95 %); ± 499.95"),
    (replace(ENOUGH, enough=False, reached_usd=500.2, replications=1000),
     "The limit of 1,000 simulated years came first: the mean difference in yearly net cost to every other candidate "
     "is known within ± 501 dollars (95 %) only; ± 500 dollars were asked for."),
    (replace(ENOUGH, enough=False, limit=10, replications=10, reached_usd=90.0),
     "The limit of 10 simulated years came first: a width, here ± 90 dollars (95 %), counts only from 30 years on"),
    (replace(ENOUGH, enough=False, limit=1, replications=1, reached_usd=None),
     "The limit of 1 simulated year came first: a width counts only from 30 years on"),
    (replace(ENOUGH, alone=True), "the mean yearly net cost is known within"),
    (replace(ENOUGH, measure="net_present_cost_usd"), "the mean difference in net present cost to every other"),
])
def test_enough_or_not_in_a_sentence(found, words):
    assert words in stopping_text(found)
