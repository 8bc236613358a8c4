"""The folder of results: written whole or not at all, the same bytes for the same seed."""

from __future__ import annotations

import glob
import os
import re
from collections.abc import Mapping
from contextlib import AbstractContextManager, nullcontext, suppress
from pathlib import Path
from zlib import crc32

from missionsim.base.leftovers import LEFTOVER, hidden_folder, one_at_a_time, sweep
from missionsim.base.owned_files import RUN, OutputError, Writer, refuse_foreign, remove_ours, writer_of, written_in
from missionsim.study.inputs.files import home_expanded

FILES = frozenset({"report.html", "summary.csv", "trips.csv", "flights.csv", "shop.csv", "ledger.csv", "years.csv",
                   "drawn.csv", "prices.csv", "refusals.csv", "members.csv", "rates.csv", RUN})
"""Every file that a run may be writing into a hidden folder when it is killed."""
MOST_PARTS = 200
"""Folders inside each other; no file system is used that deep."""
MOST_NAME_BYTES = 100
"""Length of a folder's name; a file system takes 255 bytes, and the folder being written has a longer name."""
DEVICES = frozenset({"CON", "PRN", "AUX", "NUL", *(f"{port}{i}" for port in ("COM", "LPT") for i in range(10))})
"""Names that some systems keep for devices, whatever follows a dot."""


def folder_of(study: str, out: str | Path | None = None, use: str = "", file: str | None = None) -> Path:
    """Return where a study's results go: the user's folder, else one without blanks under `reports/`.

    It is named after the study and `use`; where the study's file has a name of its own, after that too, so that a
    copied study that still has the old name gets a folder of its own. Names may yet come down to one folder (`a/b` and
    `a-b`): what another study left there stays, see `check_folder`.

    Parameters
    ----------
    study : str
    out : path, optional     The user's folder.
    use : str                What the study is used for, where not for comparing.
    file : str, optional     The study's file as the user named it.
    """
    if out is not None:
        return home_expanded(str(out))
    name, own = _plain(study), _own_name(file)
    if own and _bare(own).startswith(_bare(name)):
        name = own if _bare(own) != _bare(name) else name
    elif own:
        name = f"{name}-{own}"
    return _named_folder(f"{name}-{use}" if use else name)


def address_of(folder: str | Path) -> str:
    """Return the address of a folder's report as a browser takes it."""
    return (Path(folder).absolute() / "report.html").as_uri()


_USUAL_FILES = frozenset({"study", "buyer"})
"""Names of study files, or of folders on the way, that say nothing of the study."""


def _own_name(file: str | None) -> str:
    """Return what a study's file name, and the folders it lies in, add to the study's name.

    Within the folder one is in, all folders on the way count; a file elsewhere is marked by the folder it lies in, so
    that no two files come to one name.
    """
    if file is None:
        return ""
    whole = Path(os.path.normpath(Path.cwd() / file))
    try:
        path, mark = whole.relative_to(Path.cwd()), ""
    except ValueError:
        path, mark = Path(*whole.parts[-2:]), f"{crc32(str(whole.parent).encode()):08x}"[:6]
    parts = [*path.parent.parts, path.stem, mark]
    return _plain("-".join(part for part in parts if part and part.lower() not in _USUAL_FILES))


def _plain(text: str) -> str:
    return re.sub(r"\s+", "-", text.strip())


def _bare(text: str) -> str:
    return re.sub(r"[\W_]+", "", text).casefold()


def _named_folder(study: str) -> Path:
    safe = re.sub(r"[^\w.()+-]", "-", study)
    name = safe.encode("utf-8")[:MOST_NAME_BYTES].decode("utf-8", "ignore").strip(" .")
    if name.split(".")[0].strip().upper() in DEVICES:
        name = f"study-{name}"
    return Path("reports") / (name or "study")


def check_folder(out: Path, writer: Writer) -> None:
    """Refuse a place for results that is not ours, before anything is flown.

    Raises
    ------
    OutputError   It is a file, holds other files than earlier results of this command and study, or cannot be written.
    """
    with one_at_a_time(out.absolute()):
        _check(out, writer)


def _check(out: Path, writer: Writer) -> None:
    try:
        _check_place(out, writer)
    except (OSError, ValueError) as error:
        raise _refused(out, error) from None


def _check_place(out: Path, writer: Writer) -> None:
    if out.absolute() == Path.cwd():
        msg = f"{out}: is the folder you are in; accepted: a new folder, or one with earlier results of this program"
        raise OutputError(msg)
    if out.is_symlink() or (out.exists() and not out.is_dir()):
        msg = f"{out}: is not a folder; accepted: a new folder, or one with earlier results of this program"
        raise OutputError(msg)
    if len(out.absolute().parts) > MOST_PARTS:
        msg = f"{out!s:.100}...: is {len(out.absolute().parts)} folders deep; accepted: at most {MOST_PARTS}"
        raise OutputError(msg)
    _restore(out.absolute())
    refuse_foreign(out, writer)
    parent = next(p for p in (out.absolute(), *out.absolute().parents) if p.exists())
    if not os.access(parent, os.W_OK | os.X_OK) or not os.access(out.absolute().parent
                                                                 if out.exists() else parent, os.W_OK):
        raise OutputError(f"{out}: no permission to write there; choose another folder with --out")


def _restore(here: Path) -> None:
    """Put earlier results back that a run left aside when it was killed between taking them away and its own."""
    if here.exists() or not here.parent.is_dir():
        return
    kept = [p for p in here.parent.glob(f".{glob.escape(here.name)}.*.old")
            if LEFTOVER.fullmatch(p.name.removeprefix(f".{here.name}")) and written_in(p)]
    if kept:
        with suppress(OSError):
            max(kept, key=lambda p: p.stat().st_mtime).rename(here)


def write_folder(out: Path, files: Mapping[str, str], also: AbstractContextManager[None] | None = None) -> None:
    """Write files into a folder, whole or not at all; earlier results there are replaced.

    Parameters
    ----------
    out : Path
    files : mapping                    Name to text, with the run.json that `with_run` made of them.
    also : context manager, optional   What must be done with it: entered when the files are written, before they take
                                       their place, and left with the error when they cannot.

    Raises
    ------
    OutputError   With earlier results, or whatever else lies there, untouched.
    """
    writer, here = writer_of(files), out.absolute()
    with one_at_a_time(here):
        _check(out, writer)
        try:
            here.parent.mkdir(parents=True, exist_ok=True)
            sweep(here, FILES)
            with hidden_folder(here) as partial:
                for name, text in files.items():
                    (partial / name).write_bytes(text.encode("utf-8"))
                partial.chmod(0o777 & ~_umask())
                with also or nullcontext():
                    _swap(partial, here, writer)
        except OSError as error:
            raise _refused(out, error) from None


def _swap(partial: Path, here: Path, writer: Writer, tries: int = 3) -> None:
    """Put the new folder in the old one's place; the old one comes back if that fails or it is not ours after all."""
    old = partial.with_suffix(".old")
    if here.exists():
        with suppress(FileNotFoundError):  # another run has just taken it away to put its own there
            here.rename(old)
    try:
        refuse_foreign(old, writer)
        partial.rename(here)
    except BaseException as error:
        if not here.exists():
            if old.exists():
                old.rename(here)
            raise
        remove_ours(old)
        if not isinstance(error, OSError) or not partial.exists() or tries <= 1:
            raise
        _swap(partial, here, writer, tries - 1)  # another run put its results there meanwhile: whoever ends last stays
        return
    remove_ours(old)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refused(out: Path, error: OSError | ValueError) -> OutputError:
    why = (getattr(error, "strerror", None) or str(error) or type(error).__name__).lower()
    return OutputError(f"{out!s:.200}: cannot be written ({why}); nothing was changed there. Choose another "
                       "folder with --out.")
