"""Memory that is free again, handed back to the system; and pages of files, which it reads again when asked for."""

from __future__ import annotations

import ctypes
import mmap
import weakref
from contextlib import suppress
from pathlib import Path

_files: weakref.WeakSet[mmap.mmap] = weakref.WeakSet()


def give_back() -> None:
    """Hand back what the C library keeps of memory set free, where it can: a fifth of what a large study has taken.

    Of many arrays made and dropped one after the other it keeps the room, in case somebody asks for as much again.
    """
    _hand_back_pages()
    with suppress(AttributeError, OSError, TypeError):      # only the GNU library has it
        ctypes.CDLL(None).malloc_trim(0)


def pages_of(file: Path) -> mmap.mmap:
    """Return the pages of a file, to be read; `let_go` hands back those that were."""
    with file.open("rb") as stream:
        pages = mmap.mmap(stream.fileno(), 0, access=mmap.ACCESS_READ)
    hand_back(pages)
    return pages


def hand_back(pages: mmap.mmap) -> None:
    """Let the pages of a file that were read go with every `let_go`."""
    _files.add(pages)


def let_go() -> None:
    """Give back memory between two steps, as `give_back` does, where a list is so long that files were laid aside."""
    if _files:
        give_back()


def _hand_back_pages() -> None:
    """Hand back the pages of files that were read, where the system can be told so; it reads them again when asked."""
    if hasattr(mmap, "MADV_DONTNEED"):
        for pages in list(_files):
            pages.madvise(mmap.MADV_DONTNEED)
