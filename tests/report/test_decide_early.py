"""How late to decide, as a table a pilot reads."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from missionsim.report.contract import comparison_json
from missionsim.report.decide_early import HEAD, decide_early
from missionsim.report.run_file import run_object


def test_each_candidate_has_a_row_for_each_time_before_departure(comparison):
    section = decide_early(comparison)
    assert len(section.tables) == len(comparison.names)
    for name, table in zip(comparison.names, section.tables, strict=True):
        assert table.caption.startswith(f"{name}: ")
        assert table.head == HEAD
        assert [row[0] for row in table.rows] == ["1 h", "3 h", "6 h", "12 h", "24 h"]
        for row, h in zip(table.rows, [h for h in comparison.decided_before if h.candidate == name], strict=True):
            stop, needless, go, wrong, arrival = (float(cell) for cell in row[1:])
            assert stop + go == pytest.approx(100.0, abs=0.11)
            assert needless == pytest.approx(100.0 * h.false_stop_share, abs=0.051)
            assert wrong == pytest.approx(100.0 * h.false_go_share, abs=0.051)
            assert arrival <= wrong


def test_the_page_says_what_was_looked_at_and_what_was_not(html, comparison):
    assert 'id="deciding"' in html
    legs = len(comparison.prepared.schedule.trip)
    assert f"{legs} legs in the weather of 2 simulated years" in html
    assert "alternates in reach, ice, storms, wind and daylight do not" in html


def test_without_it_the_page_has_no_such_part(comparison):
    assert decide_early(replace(comparison, decided_before=None)) is None


def test_programs_find_it_in_both_objects(comparison):
    for found in (json.loads(comparison_json(comparison, None)), json.loads(json.dumps(run_object(comparison)))):
        assert len(found["decided_before"]) == 5 * len(comparison.names)
        first = found["decided_before"][0]
        assert set(first) == {"candidate", "before_h", "legs", "visual_legs", "below_share", "put_off_share",
                              "false_stop_share", "false_go_share", "false_go_arrival_share"}
