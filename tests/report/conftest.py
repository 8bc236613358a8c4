"""A small study flown once: two aircraft, seven trips, two years; its names carry markup on purpose."""

from __future__ import annotations

import json
import shutil

import pytest

from missionsim.report.html import figures, report_html
from missionsim.report.sections import further_sections
from missionsim.study.compare.compare import compare
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

WILD = '<b onclick="alert(1)">Bold</b> & $quick$'
TRIPS = """trip_id,date,time,to,return,adults,bags_lb,must_go,purpose
one,2025-02-11,07:30,KOMA,,2,60,no,dealer meeting
two,2025-04-08,06:30,KMCK,,1,620,yes,<script>alert(2)</script> planter parts
three,2025-05-10,08:30,KMKC,2025-05-11,4,90,no,wedding
four,2025-06-10,07:00,KSHR KBIL,2025-06-12,2,80,no,customers
five,2025-07-17,14:00,KGUC,2025-07-20,4,95,no,cabin in the mountains
six,2025-08-21,09:00,KMHK,,5,20,no,"five, on board"
seven,2025-11-20,06:30,KAPA,,2,20,yes,appointment
"""


@pytest.fixture(scope="session")
def study_file(tmp_path_factory):
    folder = tmp_path_factory.mktemp("study")
    shutil.copytree(demo_folder() / "aircraft", folder / "aircraft")
    (folder / "trips.csv").write_text(TRIPS, encoding="utf-8")
    (folder / "study.yaml").write_text(f"""study: small <i>study</i>
question: Which <em>one</em>?
home: KGRI
year: 2025
seed: 7
replications: 2
pilot: {{total_h: 820, type_h: 0}}
trips: trips.csv
trips_are: logbook
candidates:
  - aircraft: aircraft/retractable_260.yaml
    name: {json.dumps(WILD)}
  - aircraft/carrier_230.yaml
assumptions: {{runway.margin: 1.6}}
""", encoding="utf-8")
    return folder / "study.yaml"


@pytest.fixture(scope="session")
def comparison(study_file):
    return compare(load_study(study_file))


@pytest.fixture(scope="session")
def html(comparison):
    return report_html(comparison, figures(comparison), further_sections(comparison))
