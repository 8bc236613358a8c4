"""Runs kept by name, each in a folder of its own inside the study's: they outlast the page, none is replaced."""

from __future__ import annotations

import json
import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import datetime
from pathlib import Path

from pydantic import TypeAdapter, ValidationError

from missionsim.base.errors import Fault, MissionsimError
from missionsim.base.leftovers import hidden_folder, sweep
from missionsim.base.owned_files import RUN, remove_ours, untouched, with_run
from missionsim.page.files import CannotWriteError, ChangedOutsideError
from missionsim.page.study_file import RefusedError
from missionsim.study.compare.two_runs import RunRecord

FOLDER, RECORD, COMMAND = "kept_runs", "record.json", "keep"
MOST_KEPT, MOST_NAME = 200, 60
_RECORDS = TypeAdapter(tuple[RunRecord, ...])


@dataclass(frozen=True, slots=True)
class KeptRun:
    """A kept run in the list: its key (name of its folder), name, when it was kept, and why it cannot be read."""

    key: str
    name: str
    kept: str
    study: str
    replications: int
    fault: str = ""


class KeptRuns:
    """The kept runs of one study's folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / FOLDER

    def every(self) -> list[KeptRun]:
        """Return all kept runs, the last kept first."""
        try:
            places = sorted(p for p in self.folder.iterdir() if p.is_dir() and not p.name.startswith("."))
        except OSError:
            return []
        found = [run for place in places[:MOST_KEPT] if (run := _told(place)) is not None]
        return sorted(found, key=lambda run: run.kept, reverse=True)

    def keep(self, name: str, records: Sequence[RunRecord]) -> KeptRun:
        """Keep a run under a name: of single years, and of ownerships where they were flown.

        Raises
        ------
        RefusedError          The name is empty or too long, or too many are kept.
        ChangedOutsideError   A run of that name is kept already; it stays as it is.
        CannotWriteError
        """
        name = " ".join(name.split())
        key = re.sub(r"\W+", "_", name.casefold()).strip("_")
        if not key or len(name) > MOST_NAME:
            raise RefusedError([Fault("", "name", "is empty" if not key else "is too long",
                                      f"a name with letters or figures, at most {MOST_NAME} of them")])
        if len(self.every()) >= MOST_KEPT:
            raise RefusedError([Fault("", "name", f"{MOST_KEPT} runs are kept", "take one away first")])
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        head = {"command": COMMAND, "study": records[0].study, "name": name, "kept": now,
                "replications": records[0].replications}
        place = self.folder / key
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            sweep(place, {RECORD, RUN})
            with hidden_folder(place) as partial:
                for file, text in with_run(head, {RECORD: json.dumps([asdict(record) for record in records])}).items():
                    (partial / file).write_text(text, encoding="utf-8")
                partial.chmod(0o755)
                if place.exists():
                    _there_already(name)
                partial.rename(place)    # refused where another window has put one there meanwhile
        except OSError as error:
            if place.exists():
                _there_already(name)
            raise CannotWriteError(f"the run cannot be kept: {error.strerror or error}") from None
        return KeptRun(key, name, now, records[0].study, records[0].replications)

    def records(self, key: str) -> tuple[RunRecord, ...]:
        """Return a kept run.

        Raises
        ------
        RefusedError   There is none, or it is not as it was written.
        """
        run = next((run for run in self.every() if run.key == key), None)
        if run is None:
            raise RefusedError([Fault("", "kept run", f"{key[:MOST_NAME]!r} is not there any more")])
        if run.fault:
            raise RefusedError([Fault("", "kept run", f"{run.name!r} {run.fault}")])
        try:
            return _RECORDS.validate_json((self.folder / key / RECORD).read_bytes())
        except (OSError, ValidationError):
            raise RefusedError([Fault("", "kept run", f"{run.name!r} cannot be read", "one of this version")]) from None

    def forget(self, key: str) -> None:
        """Take a kept run away, if nobody has touched its files."""
        if any(run.key == key and not run.fault for run in self.every()):
            remove_ours(self.folder / key)


def _there_already(name: str) -> None:
    raise ChangedOutsideError(f"a run named {name!r} is kept already, and stays; give this one another name")


def _told(place: Path) -> KeptRun | None:
    """Return what a folder of a kept run says of itself; None where it is none of ours."""
    try:
        run = json.loads((place / RUN).read_text(encoding="utf-8"))
        told = KeptRun(place.name, str(run["name"]), str(run["kept"]), str(run["study"]), int(run["replications"]))
    except (OSError, ValueError, RecursionError, KeyError, TypeError, MissionsimError):
        return None
    return told if untouched(place) else \
        KeptRun(told.key, told.name, told.kept, told.study, told.replications, "was changed since it was kept")
