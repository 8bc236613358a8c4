"""Commands in odd surroundings, and runs killed at any moment: an answer or plain words, files whole or none."""

from __future__ import annotations

import json
import os
import random
import signal
import subprocess
import sys
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from robust_cases import RETRACTABLE, Told, check_files, write_study

MAIN = "import sys\n{before}\nfrom missionsim.cli import main\nif __name__ == '__main__':\n    main(sys.argv[1:])\n"
NO_ROOM = "import resource\nresource.setrlimit(resource.RLIMIT_FSIZE, (20_000, 20_000))"
LITTLE_MEMORY = "import resource\nresource.setrlimit(resource.RLIMIT_AS, (700_000_000, 700_000_000))"
FEW_FILES = "import resource\nresource.setrlimit(resource.RLIMIT_NOFILE, (24, 24))"


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
    """Kill a run at a random moment with earlier results there; return what is left half done, or an empty text."""
    rng = random.Random(seed)
    write_study(folder, "date,to\n2025-03-04,KOMA\n", candidates=[RETRACTABLE], replications=3)
    (folder / "run.py").write_text(MAIN.format(before=""), encoding="utf-8")
    command = [sys.executable, "run.py", "compare", "study.yaml", "--out", "out", "--workers", rng.choice("12")]
    first = subprocess.run(command, cwd=folder, capture_output=True, check=False, timeout=900)
    if first.returncode:
        return f"not even the first run: {first.stderr.decode()[-500:]}"
    before = {p.name: p.read_bytes() for p in (folder / "out").iterdir()}
    with subprocess.Popen([*command, "--seed", "9"], cwd=folder, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
                          start_new_session=True) as process:
        try:
            process.wait(timeout=rng.uniform(0.2, 12.0))
        except subprocess.TimeoutExpired:
            process.send_signal(rng.choice((signal.SIGKILL, signal.SIGTERM, signal.SIGINT)))
        process.wait(timeout=900)
    again = subprocess.run(command, cwd=folder, capture_output=True, check=False, timeout=900)
    if again.returncode:
        return f"the next run: {again.stderr.decode()[-500:]}"
    after = {p.name: p.read_bytes() for p in (folder / "out").iterdir()}
    return "" if after == before else f"other bytes: {[n for n in after if after[n] != before.get(n)]}"


def _half_written(folder: Path, name: str) -> str:
    if not (folder / "out").exists():
        return ""
    try:
        check_files(folder / "out")
        json.loads((folder / "out" / "run.json").read_text(encoding="utf-8"))
    except (AssertionError, ValueError) as error:
        return f"{name}: {error}"
    return ""
