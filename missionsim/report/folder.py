"""The folder of results: written whole or not at all, the same bytes for the same seed."""

from __future__ import annotations

import glob
import json
import os
import re
import shutil
from collections.abc import Mapping
from contextlib import AbstractContextManager, nullcontext, suppress
from pathlib import Path

from missionsim.base.errors import MissionsimError
from missionsim.report.leftovers import hidden_folder, sweep

RUN = "run.json"
FILES = frozenset({"report.html", "summary.csv", "trips.csv", "flights.csv", "ledger.csv", "members.csv", "rates.csv",
                   RUN})
"""Every file a folder of results may hold; anything else is not ours to replace."""
MOST_NAME_BYTES = 100
"""Length of a folder's name; a file system takes 255 bytes, and the folder being written has a longer name."""
DEVICES = frozenset({"CON", "PRN", "AUX", "NUL", *(f"{port}{i}" for port in ("COM", "LPT") for i in range(10))})
"""Names that some systems keep for devices, whatever follows a dot."""


class OutputError(MissionsimError):
    """Results cannot be written where they should go."""


def folder_of(study: str, out: str | Path | None = None, use: str = "") -> Path:
    """Return where a study's results go: the user's folder, else `reports/` and the study's name and `use`.

    Two names may come down to one folder (`a/b` and `a-b`), and two studies may be sent to one: what another study left
    there stays.

    Raises
    ------
    OutputError   Results of another study lie there.
    """
    folder = _named_folder(f"{study} {use}" if use else study) if out is None else Path(out)
    _refuse_others(folder, study)
    return folder


def _named_folder(study: str) -> Path:
    name = re.sub(r"[^\w .()+-]", "-", study).encode("utf-8")[:MOST_NAME_BYTES].decode("utf-8", "ignore").strip(" .")
    if name.split(".")[0].strip().upper() in DEVICES:
        name = f"study {name}"
    return Path("reports") / (name or "study")


def _refuse_others(folder: Path, study: str) -> None:
    """Refuse a folder whose run.json names another study; one that names none is taken as this study's."""
    try:
        other = _study_of((folder / RUN).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return  # nothing there, or nothing that names a study; whether it may be replaced is looked at elsewhere
    if other not in {None, study}:
        msg = (f"{folder!s:.200}: holds the results of another study, {other!r:.120}, not of {study!r:.120}; "
               "choose another folder with --out, or remove that one")
        raise OutputError(msg)


def _study_of(run: str) -> str | None:
    try:
        found = json.loads(run)
    except (ValueError, RecursionError):
        return None
    name = found.get("study") if isinstance(found, dict) else None
    return name if isinstance(name, str) else None


def check_folder(out: Path) -> None:
    """Refuse a place for results that is not ours, before anything is flown.

    Raises
    ------
    OutputError   It is a file, holds other files than earlier results, or cannot be written.
    """
    try:
        _check_place(out)
    except (OSError, ValueError) as error:
        raise _refused(out, error) from None


def _check_place(out: Path) -> None:
    if out.absolute() == Path.cwd():
        msg = f"{out}: is the folder you are in; accepted: a new folder, or one with earlier results of this program"
        raise OutputError(msg)
    if out.is_symlink() or (out.exists() and not out.is_dir()):
        msg = f"{out}: is not a folder; accepted: a new folder, or one with earlier results of this program"
        raise OutputError(msg)
    _restore(out.absolute())
    if out.is_dir():
        _check_ours(out)
    parent = next(p for p in (out.absolute(), *out.absolute().parents) if p.exists())
    if not os.access(parent, os.W_OK | os.X_OK) or not os.access(out.absolute().parent
                                                                 if out.exists() else parent, os.W_OK):
        msg = f"{out}: no permission to write there; choose another folder with --out"
        raise OutputError(msg)


def _restore(here: Path) -> None:
    """Put earlier results back that a run left aside when it was killed between taking them away and its own."""
    if here.exists() or not here.parent.is_dir():
        return
    kept = [p for p in here.parent.glob(f".{glob.escape(here.name)}.*.old") if (p / RUN).is_file()]
    if kept:
        with suppress(OSError):
            max(kept, key=lambda p: p.stat().st_mtime).rename(here)


def _check_ours(out: Path) -> None:
    names = sorted(p.name for p in out.iterdir())
    foreign = [n for n in names if n not in FILES]
    if names and not foreign and RUN not in names:
        foreign = names
    if foreign:
        shown = ", ".join(foreign[:3]) + (", ..." if len(foreign) > 3 else "")
        msg = (f"{out}: holds files that are no earlier results of this program ({shown}); accepted: a new or empty "
               "folder, or one with earlier results")
        raise OutputError(msg)


def write_folder(out: Path, files: Mapping[str, str], also: AbstractContextManager[None] | None = None) -> None:
    """Write files into a folder, whole or not at all; earlier results there are replaced.

    Parameters
    ----------
    also : context manager, optional   What must be done with it: entered when the files are written, before they take
                                       their place, and left with the error when they cannot.

    Raises
    ------
    OutputError   With the earlier results, or those of another study, untouched.
    """
    check_folder(out)
    if (study := _study_of(files.get(RUN, ""))) is not None:
        _refuse_others(out, study)
    here = out.absolute()
    try:
        here.parent.mkdir(parents=True, exist_ok=True)
        sweep(here, FILES)
        with hidden_folder(here) as partial:
            for name, text in files.items():
                (partial / name).write_bytes(text.encode("utf-8"))
            partial.chmod(0o777 & ~_umask())
            with also or nullcontext():
                _swap(partial, here)
    except OSError as error:
        raise _refused(out, error) from None


def _swap(partial: Path, here: Path, tries: int = 3) -> None:
    """Put the new folder in the old one's place; the old one comes back if that fails."""
    old = partial.with_suffix(".old")
    if here.exists():
        with suppress(FileNotFoundError):  # another run has just taken it away to put its own there
            here.rename(old)
    try:
        partial.rename(here)
    except BaseException as error:
        if not here.exists():
            if old.exists():
                old.rename(here)
            raise
        shutil.rmtree(old, ignore_errors=True)
        if not isinstance(error, OSError) or not partial.exists() or tries <= 1:
            raise
        _swap(partial, here, tries - 1)  # another run put its results there meanwhile: whoever ends last stays
        return
    shutil.rmtree(old, ignore_errors=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refused(out: Path, error: OSError | ValueError) -> OutputError:
    why = (getattr(error, "strerror", None) or str(error) or type(error).__name__).lower()
    return OutputError(f"{out!s:.200}: cannot be written ({why}); nothing was changed there. Choose another "
                       "folder with --out.")
