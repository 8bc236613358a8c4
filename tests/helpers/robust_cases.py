"""Small studies to break, and what must never stand in a file of results.

The random tests follow the profile of hypothesis: small and the same on every machine by default; for a long search
with new cases each time run

    pytest tests/robust --hypothesis-profile=long

and add `-m slow` for those that fly.
"""

from __future__ import annotations

import contextlib
import csv
import html
import io
import json
import math
import re
import signal
from pathlib import Path

import pytest
import yaml

from missionsim.base.owned_files import with_run
from missionsim.cli import main
from missionsim.study.inputs.files import demo_folder

AIRCRAFT = demo_folder() / "aircraft"
RETRACTABLE, CARRIER, TURBO = (str(AIRCRAFT / f"{n}.yaml") for n in ("retractable_260", "carrier_230", "boosted_six"))
SHARED_MEMORY = Path("/dev/shm")
STRAY = re.compile(r"(?<![\w.#-])[-+]?(nan|inf|infinity|nat|undefined|null|None)(?!\w)", re.IGNORECASE)
"""Words of the machine that say a number is missing; `none` in lower case is English."""


def stray(text: str) -> list[str]:
    """Return such words with what stands around them."""
    return [text[max(0, m.start() - 40):m.end() + 20] for m in STRAY.finditer(text) if m[0] != "none"]


def visible(page: str) -> str:
    """Return what a reader of a page sees, and what its figures say to those who do not see them."""
    said = " ".join(re.findall(r'(?:aria-label|alt|title)="([^"]*)"', page))
    page = re.sub(r"<(style|script)\b.*?</\1>", " ", page, flags=re.DOTALL)
    return html.unescape(re.sub(r"<[^>]*>", " ", page) + said)


def drawn(page: str) -> list[str]:
    """Return attributes of figures that hold what no figure can draw."""
    return re.findall(r'\s(?:d|points|x|y|x1|x2|y1|y2|width|height|transform)="[^"]*\b(?:nan|inf)\b[^"]*"', page)


def numbers(value):
    """Yield every number of plain data."""
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for inner in value:
            yield from numbers(inner)
    elif isinstance(value, float):
        yield value


def of_session(session: int) -> list[int]:
    """Return the living processes of a session."""
    found = []
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            try:
                fields = (entry / "stat").read_text().rpartition(")")[2].split()
            except OSError:
                continue
            if int(fields[3]) == session and fields[0] not in "ZX":
                found.append(int(entry.name))
    return sorted(found)


def in_shared_memory() -> set[str]:
    """Return the names in the system's shared memory; everybody on a machine writes there, other programs too."""
    return {entry.name for entry in SHARED_MEMORY.iterdir()} if SHARED_MEMORY.is_dir() else set()


def left_in_shared_memory(pid: int, before: set[str]) -> list[str]:
    """Return what a process left in shared memory since then: names that hold its number, and that number whole.

    Folders for arrays are not among them: the package that makes them puts them where `JOBLIB_TEMP_FOLDER` says, so
    that one in shared memory is somebody else's, perhaps of a process with the same number in a space of its own.
    """
    its_own = re.compile(rf"(?<![0-9A-Za-z]){pid}(?![0-9A-Za-z])")
    return sorted(name for name in in_shared_memory() - before
                  if its_own.search(name) and not name.startswith("joblib_memmapping_folder_"))


def refuse(word: str) -> None:
    pytest.fail(f"{word} is no JSON")


def check_files(folder: Path) -> None:
    """Hold every file of a folder of results to finite numbers and to words people use."""
    names = sorted(p.name for p in folder.iterdir())
    assert "run.json" in names
    for path in folder.iterdir():
        text = path.read_bytes().decode("utf-8")
        if path.suffix == ".json":
            found = json.loads(text, parse_constant=refuse)
            assert all(math.isfinite(n) for n in numbers(found))
        elif path.suffix == ".csv":
            rows = list(csv.reader(text.splitlines()))
            assert len({len(row) for row in rows}) == 1, path.name
            bad = [cell for row in rows for cell in row if stray(cell)]
            assert not bad, (path.name, bad[:5])
        else:
            assert path.name == "report.html"
            assert not stray(visible(text))
            assert not drawn(text)


@contextlib.contextmanager
def processor_limit(seconds: float):
    """End what is done inside with TimeoutError once it has taken so much processor time."""
    def too_long(number, frame):
        raise TimeoutError(f"more than {seconds:g} s of processor time")

    before = signal.signal(signal.SIGPROF, too_long)
    signal.setitimer(signal.ITIMER_PROF, seconds)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0.0)
        signal.signal(signal.SIGPROF, before)


class Told:
    """What a command said and how it ended."""

    def __init__(self, code, out: str, err: str) -> None:
        self.code, self.out, self.err = code, out, err

    def refused(self) -> str:
        """Hold a refusal to its form: exit code 2, nothing on stdout, short lines on stderr, no traceback."""
        assert self.code == 2, (self.code, self.err)
        assert self.out == ""
        assert self.err.strip()
        assert "Traceback" not in self.err
        assert all(len(line) < 900 for line in self.err.splitlines())
        return self.err


    def complaint(self) -> str:
        """Return what is wrong with how a command ended, an empty text for an answer or a refusal in its form."""
        said = f"exit {self.code}: {self.err[-1_500:]}"
        if self.code not in {0, 2}:
            found = re.search(r"the file (\S+)", self.err)
            return said + (Path(found[1]).read_text(encoding="utf-8")[-2_500:] if found else "")
        if self.code == 2 and not self.err.strip():
            return f"{said} refused without a word"
        lines = self.err.rstrip("\n").split("\n")
        odd = [line for line in lines if len(line) >= 900 or not line.isprintable()]
        return f"a line too long or that commands a terminal: {odd[0][:300]!r}" if odd else ""


def write_study(folder: Path, table: str | None, **more) -> Path:
    """Write a study of few trips with one or two aircraft."""
    data = {"study": "s", "home": "KGRI", "seed": 3, "replications": 1, "candidates": [RETRACTABLE, TURBO]}
    if table is not None:
        (folder / "trips.csv").write_text(table, encoding="utf-8")
        data["trips"] = "trips.csv"
        data |= {"trips_are": "logbook", "local_hours_per_year": 0.0}
    path = folder / "study.yaml"
    path.write_text(yaml.safe_dump(data | more, allow_unicode=True), encoding="utf-8")
    return path


def results(study: str = "s", command: str = "compare", **files: str) -> dict[str, str]:
    """Return files of a run as they are written: `report_html="x"` is report.html."""
    named = {"_".join(k.split("_")[:-1]) + "." + k.split("_")[-1]: text for k, text in files.items()}
    return with_run({"command": command, "study": study}, named)


def ran(*arguments: str) -> Told:
    """Run a command in this process and return what it said."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            main(list(arguments))
        except SystemExit as ended:
            return Told(ended.code or 0, out.getvalue(), err.getvalue())
    return Told(0, out.getvalue(), err.getvalue())
