"""Reading the user's text files and finding the packaged demo."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from importlib import resources
from pathlib import Path
from typing import BinaryIO

from missionsim.base.errors import Fault, InputError, near_match
from missionsim.base.owned_files import write_new_files

YAML_BYTES = 2_000_000
CSV_BYTES = 20_000_000
"""Far above any honest file; a larger one is a mistake (or an attack) and is refused before it is parsed."""

_BOMS = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
_BINARY = {b"PK\x03\x04": "a spreadsheet or zip archive; name it .xlsx, or save it as CSV text", b"\xd0\xcf\x11\xe0":
           "an old spreadsheet file; save it as CSV text", b"%PDF": "a PDF document", b"\x1f\x8b": "a compressed file"}


@dataclass(frozen=True, slots=True)
class TextFile:
    """Decoded text of one file.

    Parameters
    ----------
    path : Path
    name : str            The file as the user named it, for messages.
    text : str
    sha256 : str          Of the bytes on disk.
    notes : tuple of str  What a reader should know about how it was read.
    """

    path: Path
    name: str
    text: str
    sha256: str
    notes: tuple[str, ...] = ()


def demo_folder() -> Path:
    """Return the folder of demo studies, aircraft and trip lists.

    In an installed wheel it lies inside the package; in an editable install it is the top-level `profiles`.

    Raises
    ------
    InputError   When the installation carries no demo.
    """
    package = Path(str(resources.files("missionsim")))
    for folder in (package / "demo", package.parent / "profiles"):
        if (folder / "studies" / "buyer.yaml").is_file():
            return folder
    raise InputError([Fault("demo", "", "this installation carries no demo files; install the package again")])


def read_text(path: Path, name: str | None = None, limit: int = CSV_BYTES) -> TextFile:
    """Return the text of a user's file, whatever usual encoding it has.

    UTF-8 with or without byte-order mark, UTF-16 with one, else Windows-1252 (with a note).

    Parameters
    ----------
    path : Path
    name : str, optional   How the user named it.
    limit : int            Largest size accepted. [bytes]

    Raises
    ------
    InputError             Not there, not readable, too large, or not text.
    """
    name = name or str(path)
    return _text_file(path, name, read_bytes(path, name, limit))


def _text_file(path: Path, name: str, data: bytes) -> TextFile:
    for magic, kind in _BINARY.items():
        if data.startswith(magic):
            raise InputError([Fault(name, "", f"is {kind}", "a plain text file")])
    text, notes = _decode(data, name)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise InputError([Fault(name, "", "holds zero bytes and is not text", "a plain text file", "", line)])
    return TextFile(path, name, text, hashlib.sha256(data).hexdigest(), notes)


def read_bytes(path: Path, name: str, limit: int) -> bytes:
    """Return the bytes of a user's file; a folder, a file too large or not there is a fault."""
    try:
        if path.is_dir():
            inside = path / "study.yaml"
            raise InputError([Fault(name, "", "is a folder", f"a file, such as {inside}" if inside.is_file() else
                                    "a file")])
        if path.is_file() and path.stat().st_size > limit:
            what = f"is {path.stat().st_size / 1e6:,.1f} MB long"
            raise InputError([Fault(name, "", what, f"at most {limit / 1e6:,.0f} MB")])
        if path.exists() and not path.is_file():
            raise InputError([Fault(name, "", "is neither file nor folder", "a file")])
        return path.read_bytes()
    except InputError:
        raise
    except FileNotFoundError:
        raise InputError([Fault(name, "", "file not found", "", neighbour(path))]) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(name, "", f"cannot be read: {why}")]) from None


def read_pasted(stream: BinaryIO) -> TextFile:
    """Return what a person pastes or pipes in, up to the end of the stream; raises as `read_text` does."""
    name, data = "pasted text", stream.read(CSV_BYTES + 1)
    if len(data) > CSV_BYTES:
        raise InputError([Fault(name, "", "is longer than a file may be", f"at most {CSV_BYTES / 1e6:,.0f} MB")])
    return _text_file(Path("-"), name, data)


def write_new(path: Path, text: str) -> None:
    """Write a text into a new file; one that is there is never overwritten.

    Raises
    ------
    InputError   The file is there already, or cannot be written.
    """
    try:
        path.parent.stat()    # folders are not made on the way
        write_new_files(path.parent, {path.name: text})
    except FileExistsError:
        raise InputError([Fault(str(path), "", "is there already and is not overwritten", "a new file")]) from None
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(str(path), "", f"cannot be written: {why}", "a file in a folder you may write to")
                          ]) from None


def is_there(path: Path) -> bool:
    """Return whether a path exists; one that the system cannot even look for does not."""
    try:
        return path.exists()
    except (OSError, ValueError):
        return False


def is_file(path: Path) -> bool:
    """Return whether a path is a regular file, or a link to one; see `is_there`."""
    return is_there(path) and path.is_file()


def neighbour(path: Path) -> str:
    """Return the name of a file in the same folder that a misspelt one may have meant, or an empty string."""
    try:
        names = sorted(p.name for p in path.parent.iterdir())
    except (OSError, ValueError):
        return ""
    return near_match(path.name, names)


def home_expanded(text: str) -> Path:
    """Return a path with `~` written out, as it stands where there is no such home."""
    try:
        return Path(text).expanduser()
    except RuntimeError:
        return Path(text)


def _decode(data: bytes, name: str) -> tuple[str, tuple[str, ...]]:
    for bom, codec in _BOMS:
        if data.startswith(bom):
            try:
                return data.decode(codec), ()
            except UnicodeDecodeError:
                raise InputError([Fault(name, "", "is not valid UTF-16 text", "UTF-8 text")]) from None
    try:
        return data.decode("utf-8-sig"), ()
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
    try:
        return data.decode("cp1252"), (f"{name}: not UTF-8 (line {line}); read as Windows-1252",)
    except UnicodeDecodeError:
        raise InputError([Fault(name, "", "is neither UTF-8 nor Windows-1252 text", "UTF-8 text", "", line)]) from None
