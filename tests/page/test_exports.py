"""What leaves the page as a file: nothing a spreadsheet computes, nothing from elsewhere on the machine."""

from __future__ import annotations

import io
import shutil
import zipfile

import pytest
from openpyxl import load_workbook

from missionsim.base.cells import safe_cell
from missionsim.base.owned_files import with_run
from missionsim.page.exports import study_archive, workbook, written_results
from missionsim.page.job import State
from missionsim.page.screen import screen_of
from missionsim.page.study_file import RefusedError
from missionsim.study.inputs.files import demo_folder
from missionsim.study.inputs.load_study import load_study

WILD = ("=1+1", "+SUM(A1:A9)", "-2+3", "@cmd", "=HYPERLINK(\"http://x\")", "'=1", "\x01=2", "plain, with comma", "")


def results(folder, cells):
    folder.mkdir(parents=True)
    lines = ["purpose,amount_usd",
             *(f'"{safe_cell(cell).replace(chr(34), chr(34) * 2)}",{i}.5' for i, cell in enumerate(cells))]
    for name, text in with_run({"command": "compare", "study": "s"}, {"trips.csv": "\n".join(lines) + "\n",
                                                                     "report.html": "<p>"}).items():
        (folder / name).write_text(text, encoding="utf-8")
    return folder


def test_nothing_in_the_workbook_is_a_formula(tmp_path):
    made = workbook(results(tmp_path / "results", WILD))
    with zipfile.ZipFile(io.BytesIO(made)) as parts:
        assert all(b"<f>" not in parts.read(n) and b"<f " not in parts.read(n) for n in parts.namelist())
    sheet = load_workbook(io.BytesIO(made))["trips"]
    found = list(sheet.iter_rows(min_row=2, values_only=False))
    assert [(row[0].value or "").removeprefix("\x01") for row in found] == [w.removeprefix("\x01") for w in WILD]
    assert {row[0].data_type for row in found} <= {"s", "n", "inlineStr"}
    assert all(row[0].quotePrefix for row in found[:4])
    assert [row[1].value for row in found] == [i + 0.5 for i in range(len(WILD))]


def test_touched_results_are_not_handed_out(tmp_path):
    folder = results(tmp_path / "results", WILD)
    assert written_results(folder) == ["report.html", "run.json", "trips.csv"]
    (folder / "trips.csv").write_text("mine")
    assert written_results(folder) == []
    with pytest.raises(RefusedError, match="not written yet"):
        workbook(folder)


def test_the_archive_flies_elsewhere(tmp_path):
    folder = shutil.copytree(demo_folder(), tmp_path / "demo")
    (folder / "studies" / "letter.txt").write_text("private")
    with zipfile.ZipFile(io.BytesIO(study_archive(folder / "studies" / "buyer.yaml"))) as archive:
        archive.extractall(tmp_path / "elsewhere")
        names = archive.namelist()
    assert "studies/buyer.yaml" in names
    assert not [n for n in names if "letter" in n or n.startswith(("/", ".."))]
    here, there = (load_study(tmp_path / d / "studies" / "buyer.yaml") for d in ("demo", "elsewhere"))
    assert sorted(here.hashes.values()) == sorted(there.hashes.values())
    assert here.listed == there.listed


@pytest.mark.parametrize("name", ["partnership.yaml", "ownership.yaml", "charter.yaml"])
def test_archives_of_every_kind_of_study_fly(tmp_path, name):
    folder = shutil.copytree(demo_folder(), tmp_path / "demo")
    with zipfile.ZipFile(io.BytesIO(study_archive(folder / "studies" / name))) as archive:
        archive.extractall(tmp_path / "elsewhere")
    load_study(tmp_path / "elsewhere" / "studies" / name)


def test_what_lies_far_away_is_left_out_and_said(tmp_path):
    far = tmp_path / "far" / "secret"
    far.mkdir(parents=True)
    (far / "trips.csv").write_text("date,to\n2025-03-04,KOMA\n")
    deep = tmp_path / "a" / "b" / "c"
    deep.mkdir(parents=True)
    (deep / "study.yaml").write_text(f"study: x\nhome: KGRI\ntrips: {far / 'trips.csv'}\n")
    with zipfile.ZipFile(io.BytesIO(study_archive(deep / "study.yaml"))) as archive:
        assert sorted(archive.namelist()) == ["c/study.yaml", "left_out.txt"]
        told = archive.read("left_out.txt").decode()
    assert "trips.csv" in told
    assert "secret" not in told


@pytest.fixture(scope="module")
def screen():
    from study_cases import small_study

    from missionsim.study.compare.compare import compare
    return screen_of(compare(small_study(trips=4), 2))


def number(cell):
    return float(cell.split(" (")[0].strip("$").replace(",", "").replace("−", "-"))


def test_the_money_of_the_page_adds_up_to_what_the_report_says(client, page, screen):
    by_group, by_sum = screen.money
    for column in (1, 2):
        lines = [number(row[column]) for row in by_sum.rows]
        assert sum(lines[:-1]) == pytest.approx(lines[-1], abs=5.0 * len(lines))  # each is rounded to ten
        assert lines[-1] == pytest.approx(number(by_group.rows[-1][column]), abs=5.0)
    assert "from memory" not in "".join(row[-1] for row in by_sum.rows)  # whose words that is not
    page.job.state = State(screen=screen, shown=1)
    text = client.get("/screen").text
    assert all(row[1] in text for row in by_sum.rows)


def test_the_page_hands_out_files_and_the_sheet(client, page, screen):
    assert client.get("/study.zip").status_code == 422
    client.post("/change/value", json={"path": "home", "text": "KGRI"})
    assert zipfile.is_zipfile(io.BytesIO(client.get("/study.zip").content))
    assert "nothing has been flown yet" in client.get("/sheet").text
    page.job.state = State(screen=screen, shown=1)
    sheet = client.get("/sheet").text
    assert all(text.split(".")[0] in sheet for text in screen.cautions)
    assert "/tables.xlsx" not in client.get("/screen").text
    results(page.folder / "results", WILD)
    assert "/results/trips.csv" in client.get("/screen").text
    answer = client.get("/results/trips.csv")
    assert "attachment" in answer.headers["content-disposition"]
    assert client.get("/tables.xlsx").content[:2] == b"PK"
    for name in ("elsewhere.csv", "..%2fstudy.yaml", "study.yaml"):
        assert client.get(f"/results/{name}").status_code in {404, 422}


def test_the_sheet_says_what_the_comparison_says(screen):
    sheet = screen.sheet
    assert [row[0] for row in sheet.aircraft.rows] == list(screen.names)
    assert [row[4] for row in sheet.aircraft.rows] == [row.mean for row in screen.cost.rows]
    assert sheet.sentences == screen.sentences[:3]
    assert sheet.limits == screen.limits
