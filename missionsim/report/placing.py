"""Files put beside each other into a folder that may hold others: all of them or none, over nobody else's."""

from __future__ import annotations

import errno
import os
from collections.abc import Iterator, Mapping
from contextlib import ExitStack, contextmanager, suppress
from pathlib import Path

from missionsim.base.leftovers import hidden_folder, sweep
from missionsim.base.owned_files import OutputError, refuse_foreign, writer_of, written_in
from missionsim.report.folder import MOST_PARTS


def check_figures(folder: Path, out: Path) -> None:
    """Refuse a place for figures that cannot be, before anything is flown.

    Raises
    ------
    OutputError   It is a file, cannot be written, or lies in the folder of results, which is replaced whole.
    """
    try:
        if out.resolve() in (here := folder.resolve(), *here.parents):
            msg = f"{folder}: figures cannot go into the folder of results ({out}); accepted: a folder beside it"
            raise OutputError(msg)
        if len(here.parts) > MOST_PARTS:
            raise OutputError(f"{folder!s:.100}...: is {len(here.parts)} folders deep; accepted: at most {MOST_PARTS}")
        nearest = next(p for p in (here, *here.parents) if p.exists())
        if not nearest.is_dir():
            raise NotADirectoryError(errno.ENOTDIR, os.strerror(errno.ENOTDIR))
        if not os.access(nearest, os.W_OK | os.X_OK):
            raise PermissionError(errno.EACCES, os.strerror(errno.EACCES))
    except (OSError, ValueError, RuntimeError) as error:
        raise _refused(folder, error) from None


@contextmanager
def placed(folder: Path, texts: Mapping[str, str]) -> Iterator[None]:
    """Put files into a folder in place of those of an earlier run; when the body fails all is as it was before.

    Parameters
    ----------
    folder : Path           Made where there is none; other files in it stay.
    texts : mapping         Name of a file to what it holds, with the run.json that `with_run` made of them.

    Raises
    ------
    OutputError             With the folder as it was.
    """
    with ExitStack() as after, ExitStack() as undo:
        try:
            for path in reversed([p for p in (folder, *folder.parents) if not p.exists()]):
                after.callback(_remove_empty, path)
            folder.mkdir(parents=True, exist_ok=True)
            place = folder / "figures"
            sweep(place, {*texts, *map(_aside, texts)})
            refuse_foreign(folder, writer_of(texts), {*texts, *written_in(folder)})
            new = after.enter_context(hidden_folder(place))
            for name, text in texts.items():
                (new / name).write_bytes(text.encode("utf-8"))
            for name in written_in(folder).keys() - texts.keys():
                _put_aside(new, folder, name, undo)
            for name in texts:
                _put_aside(new, folder, name, undo)
                undo.callback((folder / name).unlink, missing_ok=True)
                (new / name).replace(folder / name)
        except (OSError, ValueError) as error:
            raise _refused(folder, error) from None
        yield
        undo.pop_all()


def _put_aside(new: Path, folder: Path, name: str, undo: ExitStack) -> None:
    """Move an earlier file out of the way, and note how to turn that back."""
    target, aside = folder / name, new / _aside(name)
    if target.exists():
        undo.callback(_move_back, aside, target)
        target.rename(aside)


def _aside(name: str) -> str:
    return f"{name}.before"


def _move_back(aside: Path, target: Path) -> None:
    if aside.exists():
        aside.replace(target)


def _remove_empty(folder: Path) -> None:
    with suppress(OSError):
        folder.rmdir()


def _refused(folder: Path, error: Exception) -> OutputError:
    why = (getattr(error, "strerror", None) or str(error) or type(error).__name__).lower()
    return OutputError(f"{folder!s:.200}: figures cannot be written ({why}); nothing was changed. Choose another "
                       "folder with --figures.")
