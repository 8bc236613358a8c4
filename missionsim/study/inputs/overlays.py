"""A study file with the files it extends: one mapping, every value still knowing its file and line."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol

from missionsim.base.errors import Fault, InputError
from missionsim.study.inputs.files import home_expanded, is_there
from missionsim.study.inputs.yaml_lines import KeyPath, YamlDocument, dotted, read_yaml

MOST_LAYERS = 20


class Located(Protocol):
    """Data whose parts know where they were written."""

    @property
    def data(self) -> Any:
        """The data."""

    def fault(self, path: KeyPath, what: str, accepted: str = "", near: str = "") -> Fault:
        """Return a fault at a key path; arguments as for `YamlDocument.fault`."""


@dataclass(frozen=True)
class Layers:
    """A study and what it extends, the study first.

    Parameters
    ----------
    documents : tuple of YamlDocument
    data : dict                 Merged: tables key by key, anything else replaced whole by the nearer file.
    """

    documents: tuple[YamlDocument, ...]
    data: dict[str, Any]

    @property
    def name(self) -> str:
        """The study file as the user named it."""
        return self.documents[0].name

    def document_of(self, path: KeyPath) -> YamlDocument:
        """Return the file that wrote a value, or the nearest part above it."""
        for cut in range(len(path), 0, -1):
            for document in self.documents:
                if path[:cut] in document.lines:
                    return document
        return self.documents[0]

    def fault(self, path: KeyPath, what: str, accepted: str = "", near: str = "") -> Fault:
        """Return a fault at a key path, in the file that wrote it; arguments as for `YamlDocument.fault`."""
        document = self.document_of(path)
        return Fault(document.name, dotted(path), what, accepted, near, document.line(path))

    def resolve(self, path: KeyPath, text: str) -> tuple[Path, str]:
        """Return the file a path names, relative to the file it is written in, and a short name for messages."""
        document = self.document_of(path)
        target = home_expanded(text)
        if target.is_absolute():
            return target, text
        named = Path(document.name).parent / target
        return document.file.path.parent / target, named.as_posix()


def read_layers(path: Path, name: str | None = None) -> Layers:
    """Read a study and everything it extends.

    Raises
    ------
    InputError   A file cannot be read, or the files extend each other in a circle.
    """
    documents: list[YamlDocument] = []
    here: Path | None = path
    shown = name or str(path)
    seen: dict[Path, str] = {}
    while here is not None:
        document = read_yaml(here, shown)
        documents.append(document)
        seen[_real(here)] = shown
        here, shown = _next(document, seen)
    data: dict[str, Any] = {}
    for document in reversed(documents):
        data = merged(data, document.data)
    return Layers(tuple(documents), data)


def _real(path: Path) -> Path:
    try:
        return path.resolve()
    except (OSError, RuntimeError, ValueError):
        return path.absolute()


def _next(document: YamlDocument, seen: Mapping[Path, str]) -> tuple[Path | None, str]:
    if "extends" not in document.data:
        return None, ""
    text = document.data["extends"]
    if not isinstance(text, str) or not text.strip():
        raise InputError([document.fault(("extends",), f"is {text!r:.60}", "the path of another study file")])
    target = document.file.path.parent / home_expanded(text)
    shown = text if Path(text).is_absolute() else (Path(document.name).parent / text).as_posix()
    if _real(target) in seen:
        raise InputError([document.fault(("extends",), f"goes in a circle back to {seen[_real(target)]}",
                                         "a study that does not lead back here")])
    if len(seen) >= MOST_LAYERS:
        raise InputError([document.fault(("extends",), "too many studies extend each other", f"{MOST_LAYERS} files")])
    if not is_there(target):
        raise InputError([document.fault(("extends",), f"file {text!r} not found", "a path relative to this file")])
    return target, shown


def merged(base: Any, top: Any) -> Any:
    """Return what one mapping says laid over another, mapping by mapping; anything else stands in its place."""
    if isinstance(base, dict) and isinstance(top, dict):
        return {**base, **{key: merged(base.get(key), value) for key, value in top.items()}}
    return top
