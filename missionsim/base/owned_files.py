"""Whose files are in a folder: the one rule for results, figures and new studies.

A file is replaced or removed only if it is a regular file that a run of this program and command on this study wrote
and nobody has touched since: `run.json` beside it lists every file with its hash, and carries a hash of its own.
Anything else, whatever its name, is somebody's work and stays.
"""

from __future__ import annotations

import hashlib
import json
import stat
from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from missionsim.base.errors import MissionsimError

RUN = "run.json"
PROGRAM = "missionsim"
_MOST_RUN_BYTES = 50_000_000
_BLOCK_BYTES = 1 << 20


class OutputError(MissionsimError):
    """Files cannot be written where they should go."""


@dataclass(frozen=True, slots=True)
class Writer:
    """Who writes into a folder: a command of this program on a study."""

    command: str
    study: str


def with_run(run: Mapping[str, Any], files: Mapping[str, str]) -> dict[str, str]:
    """Return files with the `run.json` that makes them ours.

    Parameters
    ----------
    run : mapping      Plain data with `command` and `study`; the program's name, the hashes and the seal are added.
    files : mapping    Name to text, as it is written in UTF-8.
    """
    listed = [{"file": name, "sha256": _digest(text.encode("utf-8"))} for name, text in sorted(files.items())]
    whole = {**run, "program": PROGRAM, "written": listed}
    whole["seal"] = _seal(whole)
    return {**files, RUN: json.dumps(whole, indent=1, allow_nan=False, ensure_ascii=True) + "\n"}


def writer_of(files: Mapping[str, str]) -> Writer:
    """Return who writes a set of files, as its `run.json` says."""
    run = json.loads(files[RUN])
    return Writer(run["command"], run["study"])


def written_in(folder: Path) -> dict[str, str]:
    """Return name and hash of the files that a folder's run.json lists; none where it is not ours or was touched."""
    run = _run(folder)
    if run is None:
        return {}
    return {entry["file"]: entry["sha256"] for entry in run["written"]} | {RUN: ""}


def untouched(folder: Path) -> bool:
    """Tell whether every file that a folder's run.json lists is there as it was written."""
    listed = written_in(folder)
    try:
        return bool(listed) and not any(_why_foreign(folder / name, listed) for name in listed)
    except OSError:
        return False


def refuse_foreign(folder: Path, writer: Writer, among: Iterable[str] | None = None) -> None:
    """Refuse a folder in which something would have to go that is not ours.

    Parameters
    ----------
    folder : Path
    writer : Writer
    among : iterable of str, optional    Only these names are to be replaced; else everything in the folder is.

    Raises
    ------
    OutputError     Naming what is somebody else's, or what was edited.
    """
    there = sorted(path.name for path in folder.iterdir()) if folder.is_dir() else []
    if among is not None:
        wanted = {*among, RUN}
        there = [name for name in there if name in wanted]
    if not there:
        return
    run = _run(folder)
    if run is None:
        _refuse(folder, [f"{n} ({_kind(folder / n) or 'no run of this program lists it'})" for n in there])
        return
    _refuse_other_run(folder, run, writer)
    _refuse(folder, [f"{name} ({why})" for name in there if (why := _why_foreign(folder / name, written_in(folder)))])


def remove_ours(folder: Path) -> None:
    """Remove the files of a folder that its run.json lists and nobody has touched, then the folder if it is empty."""
    listed = written_in(folder)
    for name in [*(n for n in listed if n != RUN), RUN]:
        with suppress(OSError):
            if name in listed and not _why_foreign(folder / name, listed):
                (folder / name).unlink()
    with suppress(OSError):
        folder.rmdir()


def write_new_files(folder: Path, texts: Mapping[str, str]) -> tuple[Path, ...]:
    """Write files where none are, all or none of them; folders are made as needed.

    Raises
    ------
    FileExistsError     One is there already.
    OSError             It cannot be written; what was written of it is gone again.
    """
    made: list[Path] = []
    written: list[Path] = []
    try:
        for name, text in texts.items():
            target = folder / name
            for parent in reversed([p for p in target.parents if not p.exists()]):
                parent.mkdir(exist_ok=True)
                made.append(parent)
            with target.open("x", encoding="utf-8", newline="\n") as file:
                written.append(target)
                file.write(text)
    except BaseException:
        for target in written:
            target.unlink(missing_ok=True)
        for parent in reversed(made):
            with suppress(OSError):
                parent.rmdir()
        raise
    return tuple(written)


def _run(folder: Path) -> dict[str, Any] | None:
    """Return the run.json of a folder if this program wrote it and nobody has touched it since."""
    path = folder / RUN
    try:
        if _kind(path) or path.stat().st_size > _MOST_RUN_BYTES:
            return None
        run = json.loads(path.read_text(encoding="utf-8"))
        ours = (isinstance(run, dict) and run.get("program") == PROGRAM and _lists(run.get("written"))
                and isinstance(run.get("command"), str) and isinstance(run.get("study"), str)
                and run.get("seal") == _seal(run))
    except (OSError, ValueError, RecursionError):   # also what no run of ours writes, such as `NaN`
        return None
    return run if ours else None


def _lists(written: Any) -> bool:
    return isinstance(written, list) and all(
        isinstance(e, dict) and isinstance(e.get("file"), str) and isinstance(e.get("sha256"), str) for e in written)


def _refuse_other_run(folder: Path, run: Mapping[str, Any], writer: Writer) -> None:
    what = ""
    if run["study"] != writer.study:
        what = f"holds the results of another study, {run['study']!r:.120}, not of {writer.study!r:.120}"
    elif run["command"] != writer.command:
        what = f"holds the results of another command, {run['command']!r:.60}, not of {writer.command!r:.60}"
    if what:
        raise OutputError(f"{folder!s:.200}: {what}; choose another folder, or remove that one")


def _refuse(folder: Path, found: list[str]) -> None:
    if found:
        shown = ", ".join(found[:3]) + (f" and {len(found) - 3} more" if len(found) > 3 else "")
        msg = (f"{folder!s:.200}: holds files that are no earlier results of this program, or were changed since: "
               f"{shown}; accepted: a new or empty folder, or one with earlier results as they were written")
        raise OutputError(msg)


def _why_foreign(path: Path, listed: Mapping[str, str]) -> str:
    """Return why a file is not ours to replace, an empty text where it is."""
    if kind := _kind(path):
        return kind
    if path.name not in listed:
        return "no run of this program lists it"
    return "" if path.name == RUN or _file_digest(path) == listed[path.name] else "edited since it was written"


def _kind(path: Path) -> str:
    """Return what a path is if it is no regular file."""
    mode = path.lstat().st_mode
    if stat.S_ISREG(mode):
        return ""
    return "a folder" if stat.S_ISDIR(mode) else "a link" if stat.S_ISLNK(mode) else "no regular file"


def _seal(run: Mapping[str, Any]) -> str:
    plain = {key: value for key, value in run.items() if key != "seal"}
    return _digest(json.dumps(plain, sort_keys=True, allow_nan=False, ensure_ascii=True).encode("ascii"))


def _digest(data: bytes) -> str:
    return hashlib.sha256(data).hexdigest()


def _file_digest(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as file:
        while block := file.read(_BLOCK_BYTES):
            found.update(block)
    return found.hexdigest()
