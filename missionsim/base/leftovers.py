"""Hidden folders beside a place that is being written, and what killed runs left of them.

A run holds a lock on its hidden folder as long as it lives; the system drops it with the process, however that ends.
"""

from __future__ import annotations

import glob
import os
import re
import sys
import tempfile
import time
from collections.abc import Collection, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from missionsim.base.owned_files import remove_ours

if sys.platform != "win32":
    import fcntl

LEFTOVER = re.compile(r"\.\w{8}\.(partial|old)")
"""How the name of a hidden folder ends after the name of the place."""
JUST_MADE_S = 60.0
"""A folder younger than this may not yet be locked by the run that has just made it."""
MOST_WAIT_S = 10.0
"""So long a run waits for others that put their results in the same folder; none takes a second for it."""
NOBODYS_S = 24 * 3600.0
"""Where folders cannot be locked one this old belongs to no living run: files are written within seconds."""


@contextmanager
def hidden_folder(place: Path) -> Iterator[Path]:
    """Yield a new hidden folder beside a place, held until the end and gone after it."""
    folder = Path(tempfile.mkdtemp(prefix=f".{place.name}.", suffix=".partial", dir=place.parent))
    lock = _locked(folder)
    try:
        yield folder
    finally:
        _remove(folder)
        if lock is not None:
            os.close(lock)


@contextmanager
def one_at_a_time(place: Path) -> Iterator[None]:
    """Keep other runs from putting anything in a place, or beside it, until the end; where locks are known."""
    lock, until_s = None, time.monotonic() + MOST_WAIT_S
    with suppress(ValueError):      # no name of a folder: whoever writes there says so
        while time.monotonic() < until_s:
            with suppress(BlockingIOError):
                lock = _locked(place.parent)
                break
            time.sleep(0.002)
    try:
        yield
    finally:
        if lock is not None:
            os.close(lock)


def sweep(place: Path, names: Collection[str]) -> None:
    """Remove what killed runs left beside a place; nothing that a living run may hold, nor anything not ours.

    Parameters
    ----------
    place : Path                     Where results or figures go.
    names : collection of str        The only files such a folder may hold.
    """
    folders: list[Path] = []
    with suppress(OSError):
        folders = sorted(place.parent.glob(f".{glob.escape(place.name)}.*"))
    for folder in folders:
        kind = LEFTOVER.fullmatch(folder.name.removeprefix(f".{place.name}"))
        if kind and not folder.is_symlink() and folder.is_dir():
            with suppress(OSError):     # somebody else's, in a folder for everybody
                _sweep_one(folder, kind[1], place, names)


def _sweep_one(folder: Path, kind: str, place: Path, names: Collection[str]) -> None:
    if kind == "old" and place.exists():   # else they come back: nothing stands in their place
        remove_ours(folder)
    elif kind == "partial" and _holds_only(folder, names) and _is_nobodys(folder):
        _remove(folder)


def _remove(folder: Path) -> None:
    """Remove a hidden folder with the files in it; what is no file stays, and the folder with it."""
    with suppress(OSError):
        for path in list(folder.iterdir()):
            if path.is_file() or path.is_symlink():
                path.unlink(missing_ok=True)
        folder.rmdir()


def _holds_only(folder: Path, names: Collection[str]) -> bool:
    return all(path.name in names and path.is_file() and not path.is_symlink() for path in folder.iterdir())


def _is_nobodys(folder: Path) -> bool:
    """Tell whether no living run can hold a folder."""
    age_s = time.time() - folder.stat().st_mtime
    if age_s <= JUST_MADE_S:
        return False
    try:
        lock = _locked(folder)
    except BlockingIOError:
        return False
    if lock is None:
        return age_s > NOBODYS_S
    os.close(lock)
    return True


def _locked(folder: Path) -> int | None:
    """Return an open lock on a folder, None where the system knows none.

    Raises
    ------
    BlockingIOError   A living run has it.
    """
    if sys.platform == "win32":
        return None
    try:
        lock = os.open(folder, os.O_RDONLY)
    except OSError:
        return None
    try:
        fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        os.close(lock)
        if isinstance(error, BlockingIOError):
            raise
        return None
    return lock
