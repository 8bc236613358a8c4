"""Writes the files of a study one by one, whole or not at all, and notices when somebody else has changed one."""

from __future__ import annotations

import contextlib
import hashlib
import os
import stat
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import BinaryIO

from missionsim.base.errors import Fault, InputError, MissionsimError
from missionsim.study.inputs.files import CSV_BYTES, is_there, read_bytes

FOR_ALL_TO_READ = 0o644
"""Rights of a new file; one that is there keeps its own."""


class ChangedOutsideError(MissionsimError):
    """A file is not as the page last read or wrote it; it has been read again, and the change was not made."""


class CannotWriteError(MissionsimError):
    """The system does not let a file be written; nothing has changed."""


class Files:
    """Keeps in mind how each file looked when it was last read or written, and counts the changes made."""

    def __init__(self, changes: int = 0) -> None:
        self.changes = changes
        self._known: dict[Path, str | None] = {}

    def read(self, path: Path) -> str | None:
        """Return a file's text, None where there is none, and take note of it.

        Raises
        ------
        InputError   It is no file, too large, or no text.
        """
        data = _bytes(path)
        self._known[path] = _hash(data)
        try:
            return None if data is None else data.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise InputError([Fault(path.name, "", "is no UTF-8 text", "the same saved as UTF-8")]) from None

    def changed_outside(self) -> list[Path]:
        """Return the files that are not as they were last read or written."""
        return [path for path, known in self._known.items() if _hash(_bytes(path)) != known]

    def write(self, path: Path, text: str) -> None:
        """Write a file beside its place and move it there, so that a killed program leaves the old or the new one.

        A link stays: the file it leads to is written, the one that was read.

        Raises
        ------
        ChangedOutsideError   Somebody else changed it meanwhile; nothing is written.
        CannotWriteError
        """
        data = text.encode()
        if _hash(_bytes(path)) != self._known.get(path):
            raise ChangedOutsideError(f"{path.name} was changed by another program")
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            place = _written_place(path)
            with _beside(place) as (file, name):
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
                Path(name).chmod(stat.S_IMODE(place.stat().st_mode) if place.exists() else FOR_ALL_TO_READ)
                Path(name).replace(place)
        except OSError as error:
            raise CannotWriteError(f"{path.name} cannot be written: {error.strerror or error}") from None
        self._known[path] = _hash(data)
        self.changes += 1

    def remove(self, path: Path) -> None:
        """Remove a file that the page has written and nobody has changed since."""
        if _hash(_bytes(path)) != self._known.get(path):
            raise ChangedOutsideError(f"{path.name} was changed by another program")
        path.unlink(missing_ok=True)
        self._known[path] = None
        self.changes += 1


def _written_place(path: Path) -> Path:
    """Return where a file is written: behind a link, which is not replaced by a file that its owner would look for."""
    if path.is_symlink() and not path.exists():
        raise CannotWriteError(f"{path.name} is a link that leads to no file: nothing was written")
    return path.resolve() if path.is_symlink() else path


@contextlib.contextmanager
def _beside(path: Path) -> Iterator[tuple[BinaryIO, str]]:
    """Yield an open file beside a place; it writes all of what it is given or raises, as a bare descriptor does not."""
    handle, name = tempfile.mkstemp(prefix=".", suffix=".part", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            yield file, name
    finally:
        Path(name).unlink(missing_ok=True)


def _bytes(path: Path) -> bytes | None:
    return read_bytes(path, path.name, CSV_BYTES) if is_there(path) else None


def _hash(data: bytes | None) -> str | None:
    return None if data is None else hashlib.sha256(data).hexdigest()
