"""A place without a weather station in reach is refused where it is written, by whoever reads the study."""

from __future__ import annotations

from pathlib import Path

import pytest
from robust_cases import RETRACTABLE

from missionsim.base.errors import InputError
from missionsim.study.inputs.load_study import load_study

HEAD = f"study: s\ncandidates: [{RETRACTABLE}]\n"


def faults(folder: Path, text: str, trips: str = "") -> list[str]:
    path = folder / "s.yaml"
    path.write_text(HEAD + text, encoding="utf-8")
    (folder / "t.csv").write_text("date,to,return\n" + trips, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        load_study(path)
    return [str(f).replace(str(folder) + "/", "") for f in caught.value.faults]


def test_every_place_is_named_with_file_line_and_what_helps(tmp_path):
    rows = "2025-02-03,MMMX,\n2025-03-03,KOMA,\n2025-04-03,KOMA CYFB,\n"
    found = faults(tmp_path, "home: KGRI\ntrips: t.csv\n", rows)
    assert len(found) == 2
    assert found[0].startswith("t.csv:2: to: MMMX: no weather station within 120 nm; accepted: ")
    assert found[1].startswith("t.csv:4: to: CYFB: no weather station within 120 nm")
    assert "`weather_files`" in found[0]


def test_home_and_lines_of_demand_too(tmp_path):
    found = faults(tmp_path, "home: MYNN\ndemand:\n  - {to: MMMX, per_year: 3}\n")
    assert [f.split(": no weather")[0] for f in found] == ["s.yaml:3: home: MYNN", "s.yaml:5: demand[1].to: MMMX"]


def test_a_wider_reach_or_another_place_is_enough(tmp_path):
    path = tmp_path / "s.yaml"
    path.write_text(HEAD + "home: KGRI\ntrips: t.csv\nassumptions: {weather.farthest_station_nm: 400}\n",
                    encoding="utf-8")
    (tmp_path / "t.csv").write_text("date,to,return\n2025-02-03,MMMX,\n", encoding="utf-8")
    assert load_study(path).listed.trips[0].destinations == ("MMMX",)
