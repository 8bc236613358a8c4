"""Commands in odd surroundings, and runs killed at any moment: an answer or plain words, files whole or none."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from robust_cases import (
    RETRACTABLE,
    Told,
    check_files,
    in_shared_memory,
    left_in_shared_memory,
    of_session,
    write_study,
)

MAIN = "import sys\n{before}\nfrom missionsim.cli import main\nif __name__ == '__main__':\n    main(sys.argv[1:])\n"
NO_ROOM = "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))"
LITTLE_MEMORY = "import resource\nresource.setrlimit(resource.RLIMIT_AS, (700_000_000, 700_000_000))"
FEW_FILES = "import resource\nresource.setrlimit(resource.RLIMIT_NOFILE, (24, 24))"
PATIENCE_S = 60.0
"""Workers notice within so long that their parent is gone, also on a busy machine."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What is odd around a command."""

    name: str
    environment: Mapping[str, str] = field(default_factory=dict)
    before: str = ""
    shell: str = ""
    workers: int = 1


ENVIRONMENTS = (
    Surroundings("console of code page 1252", {"PYTHONIOENCODING": "cp1252", "PYTHONUTF8": "0"}),
    Surroundings("console of plain letters", {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}),
    Surroundings("locale C", {"LC_ALL": "C", "LANG": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}),
    Surroundings("no home", {"HOME": "/nowhere/at/all", "MPLCONFIGDIR": "", "XDG_CONFIG_HOME": ""}),
    Surroundings("a terminal one letter wide", {"COLUMNS": "1", "TERM": "dumb"}),
    Surroundings("far time zone", {"TZ": "Pacific/Kiritimati"}),
    Surroundings("full stdout", shell="> /dev/full"),
    Surroundings("closed stdout", shell=">&-"),
    Surroundings("closed stderr", shell="2>&-"),
    Surroundings("nobody reads", shell="| head -c 10"),
    Surroundings("no folder for temporary files", {"TMPDIR": "/nowhere"}, workers=2),
    Surroundings("no room on the disk", before=NO_ROOM),
    Surroundings("no room on the disk, two workers", before=NO_ROOM, workers=2),
    Surroundings("little memory", before=LITTLE_MEMORY),
    Surroundings("few files open", before=FEW_FILES, workers=2),
    Surroundings("optimised Python", {"PYTHONOPTIMIZE": "2"}),
    Surroundings("warnings as errors", {"PYTHONWARNINGS": "error"}),
)


def run(seed: int, folder: Path) -> str:
    """Run a command in one of the surroundings; return what went wrong, or an empty text."""
    odd = ENVIRONMENTS[seed % len(ENVIRONMENTS)]
    write_study(folder, "date,to,purpose\n2025-03-04,KOMA,Büro\n", candidates=[RETRACTABLE], study="Büro 日本",
                replications=3)
    (folder / "run.py").write_text(MAIN.format(before=odd.before), encoding="utf-8")
    words = f"{sys.executable} run.py compare study.yaml --out out --workers {odd.workers} {odd.shell}"
    done = subprocess.run(["bash", "-c", words], cwd=folder, capture_output=True, check=False, timeout=900,
                          env=os.environ | dict(odd.environment))
    told = Told(0 if "head" in odd.shell and done.returncode == 1 else done.returncode,
                done.stdout.decode("utf-8", "replace"), done.stderr.decode("utf-8", "replace"))
    wrong = told.complaint() if "2>&-" not in odd.shell or done.returncode else ""
    if "Traceback" in told.err or "Exception ignored" in told.err:
        wrong = told.err[-1_500:]
    return f"{odd.name}: {wrong}" if wrong else _half_written(folder, odd.name)


def run_killed(seed: int, folder: Path) -> str:
    """End a run with two workers at a random moment, over earlier results; return what it leaves, or an empty text.

    Results are whole, the earlier or the new ones; no process lives on; after the next run there is no folder and no
    shared memory of the run that was ended.
    """
    rng = random.Random(seed)
    write_study(folder, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE], replications=20)
    (folder / "run.py").write_text(MAIN.format(before=""), encoding="utf-8")
    (folder / "tmp").mkdir()
    ours = os.environ | dict.fromkeys(("TMPDIR", "JOBLIB_TEMP_FOLDER"), str(folder / "tmp"))
    command = [sys.executable, "run.py", "compare", "study.yaml", "--out", "out", "--workers", "2"]
    first, whole = _timed(command, folder, ours)
    if first.returncode:
        return f"not even the first run: {first.stderr.decode()[-500:]}"
    before, known = _files(folder / "out"), in_shared_memory()
    with subprocess.Popen([*command, "--seed", "9"], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          start_new_session=True, env=ours) as process:
        try:
            process.wait(timeout=rng.uniform(0.02, 1.0) * whole)
        except subprocess.TimeoutExpired:
            process.send_signal(rng.choice((signal.SIGKILL, signal.SIGTERM)))
        process.wait(timeout=900)
        if living := _outlived(process.pid):
            return f"processes live on: {living}"
    if wrong := _half_written(folder, "after the kill"):
        return wrong
    for left in (folder / "tmp").iterdir():
        os.utime(left, (0, 0))      # as one that is not only just made
    again, _ = _timed(command, folder, ours)
    if again.returncode:
        return f"the next run: {again.stderr.decode()[-500:]}"
    after = _files(folder / "out")
    changed = [n for n in {*after, *before} if after.get(n) != before.get(n)]
    shared = left_in_shared_memory(process.pid, known)
    left = [p.name for p in [*(folder / "tmp").iterdir(), *folder.glob(".*")]]
    found = {"other bytes": changed, "shared memory": shared, "folders": left}
    return ", ".join(f"{what}: {names}" for what, names in found.items() if names)


def _timed(command: list[str], folder: Path, environment: Mapping[str, str],
           ) -> tuple[subprocess.CompletedProcess[bytes], float]:
    """Run a command and return it with the seconds it took."""
    start = time.monotonic()
    done = subprocess.run(command, cwd=folder, capture_output=True, check=False, timeout=900, env=environment)
    return done, time.monotonic() - start


def _files(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def _outlived(session: int) -> list[int]:
    """Return the processes of a session that still live after a while."""
    end = time.monotonic() + PATIENCE_S
    while (living := of_session(session)) and time.monotonic() < end:
        time.sleep(0.1)
    return living


def _half_written(folder: Path, name: str) -> str:
    if not (folder / "out").exists():
        return ""
    try:
        check_files(folder / "out")
        json.loads((folder / "out" / "run.json").read_text(encoding="utf-8"))
    except (AssertionError, ValueError) as error:
        return f"{name}: {error}"
    return ""
