"""A study's own weather file replaces the packaged climate at its place, and bad files are faults of the study."""

from __future__ import annotations

import pytest

from missionsim.base.errors import InputError
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study
from missionsim.study.prepare.study import prepare

MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)


def always_foggy():
    titles = ("Date (MM/DD/YYYY),Time (HH:MM),Dry-bulb (C),Dew-point (C),Pressure (mbar),Wdir (degrees),Wspd (m/s),"
              "Hvis (m),CeilHgt (m),PresWth (METAR code)")
    rows = ['999999,"SOMEWHERE",NE,-6.0,41.0,-98.0,560', titles]
    rows += [f"{m + 1:02d}/{d + 1:02d}/1995,{h + 1:02d}:00,5.0,5.0,950,180,2.0,400,30,45"
             for m in range(12) for d in range(MONTH_DAYS[m]) for h in range(24)]
    return "\n".join(rows)


@pytest.fixture
def study_with(tmp_path):
    def write(text):
        (tmp_path / "home.csv").write_text(text)
        demo = demo_folder()
        (tmp_path / "study.yaml").write_text(
            f"study: fog\nhome: KGRI\nyear: 2025\ntrips: trips.csv\n"
            f"candidates: [{demo / 'aircraft' / 'retractable_260.yaml'}]\nweather_files: {{GRI: home.csv}}\n")
        (tmp_path / "trips.csv").write_text("date,from,to\n2025-03-04,KGRI,KOMA\n")
        return load_study(tmp_path / "study.yaml")
    return write


def test_own_file_is_the_climate_of_its_place(study_with):
    climate = prepare(study_with(always_foggy())).sky.climate
    home = climate.names.index("KGRI")
    assert climate.share_below(1000.0, 3.0)[home].min() == pytest.approx(1.0)
    assert climate.share_below(1000.0, 3.0)[climate.names.index("KOMA")].mean() < 0.3


def test_a_bad_file_is_a_fault_of_the_study_with_its_name(study_with):
    with pytest.raises(InputError, match=r"home\.csv"):
        study_with("not,a,station\n1,2,3\n")
