"""Shares and their intervals lie from 0 to 1, counts and theirs from 0 to the trips there are: all that is printed.

Few trips and three years make intervals as wide as they come.
"""

from __future__ import annotations

import json

import pytest
import yaml
from robust_cases import CARRIER, RETRACTABLE

from missionsim.cli import main
from tests.robust.fuzz_overrides import DEMAND, HEAD, MEMBERS, OUTSIDE, TRIPS
from tests.robust.possible import impossible

CASES = {
    "listed": (["compare"], {"trips": "trips.csv"}),
    "demand": (["compare"], {"demand": DEMAND}),
    "years": (["compare"], {"trips": "trips.csv", "years": 3, "replications": 9}),
    "options": (["compare", "--tipping", "--grid", "--workers", "1"], {"trips": "trips.csv"}),
    "upgrades": (["compare", "--upgrades", "--workers", "1"], {"trips": "trips.csv"}),
    "partners": (["partners"], {"members": MEMBERS}),
    "rates": (["rates"], {"demand": DEMAND, "outside": OUTSIDE, "operation": "charter_on_certificate"})}


def test_what_cannot_be_is_found():
    assert impossible({"a": {"x_share": {"mean": 0.5, "low": -0.1, "high": None}}}) == ["a.x_share.low is -0.1"]
    assert impossible({"probability_best": {"net_cost_usd": [0.5, 1.5]}}) == ["probability_best.net_cost_usd.1 is 1.5"]
    assert impossible({"trips_made": {"high": 4}, "stranded": -1}, 3) == ["trips_made.high is 4", "stranded is -1"]
    assert impossible({"differences": [{"low": -1.0, "measure": "completed_share"}], "net_cost_usd": -5.0}) == []


def printed(words, more, folder, capsys):
    """Return what a command prints of a small study."""
    (folder / "trips.csv").write_text(HEAD + "".join(TRIPS), encoding="utf-8")
    data = {"study": "s", "home": "KGRI", "seed": 4, "replications": 3, "year": 2025,
            "candidates": [RETRACTABLE, CARRIER]} | more
    (folder / "study.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    with pytest.raises(SystemExit) as ended:
        main([words[0], str(folder / "study.yaml"), *words[1:], "--out", str(folder / "out"), "--json"])
    said = capsys.readouterr()
    assert ended.value.code in (0, None), said.err
    return json.loads(said.out)


@pytest.mark.parametrize("case", [pytest.param(c, marks=[] if c == "listed" else pytest.mark.slow) for c in CASES])
def test_every_share_and_count_is_possible(case, tmp_path, capsys):
    words, more = CASES[case]
    found = printed(words, more, tmp_path, capsys)
    assert impossible(found, len(TRIPS) if "trips" in more else None) == []
