"""The demo's own report: small enough to send, whole, and said within the time a reader waits."""

from __future__ import annotations

import json

import pytest

from missionsim.report.publish import publish
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.load_study import load_study


@pytest.mark.slow
def test_the_demo_report_is_small_and_whole(tmp_path):
    found = compare(load_study(), 20)
    publish(found, tmp_path / "demo", str(tmp_path / "figures"))
    page = (tmp_path / "demo" / "report.html").read_bytes()
    assert len(page) < 500_000
    text = page.decode("utf-8")
    assert text.count("<figure") >= 10
    assert text.count('<details class="story"') == 63
    for part in ("What would change the choice", "What to find out first", "What is not modelled"):
        assert part in text
    for name in found.names:
        assert name in text
    assert json.loads((tmp_path / "demo" / "run.json").read_text())["replications_kept"] == 20
    assert {p.name for p in (tmp_path / "figures").iterdir()} >= {"outcomes.svg", "cost.svg", "map-1.svg", "inputs.svg"}
