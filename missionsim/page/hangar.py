"""The aircraft of a study as the page edits them, a file each."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.aircraft.profile import Profile
from missionsim.base.errors import Fault
from missionsim.page.figures import figure, shown
from missionsim.page.files import ChangedOutsideError
from missionsim.page.study_file import RefusedError, StudyFile, document
from missionsim.page.yaml_file import parsed, value_at, with_value
from missionsim.study.inputs.faults import faults_of
from missionsim.study.inputs.overlays import Layers


@dataclass(frozen=True)
class Card:
    """One aircraft of the study as its file says it."""

    key: str
    name: str
    file: Path
    text: str

    @property
    def data(self) -> Any:
        """The file as plain tables."""
        return parsed(self.text, self.file.name)


class Hangar:
    """The aircraft of one study; a file outside the study's folder is copied into it before it is changed."""

    def __init__(self, study: StudyFile) -> None:
        self.study = study
        self.cards: list[Card] = []

    def read(self) -> None:
        """Read every aircraft again, as it is now."""
        layers = self.study.layers()
        self.cards = [card for i, item in enumerate(layers.data.get("candidates") or [])
                      if (card := self._card(layers, i, item)) is not None]

    def _card(self, layers: Layers, i: int, item: Any) -> Card | None:
        named = item.get("aircraft") if isinstance(item, dict) else item
        if not isinstance(named, str):
            return None
        path, _ = layers.resolve(("candidates", i), named)
        text = self.study.files.read(path)
        if text is None:
            return None
        name = parsed(text, path.name).get("name")
        return Card(f"a{i + 1}", str((isinstance(item, dict) and item.get("name")) or name or path.stem), path, text)

    def add(self, text: str) -> Card:
        """Add an aircraft from the text of a file that describes it; what is missing is told on its card."""
        data = parsed(text, "the new aircraft")
        name = str(data.get("name") or "").strip()
        if not name:
            raise RefusedError([Fault("the new aircraft", "name", "is missing", "what you call it")])
        if any(card.name == name for card in self.cards):
            raise RefusedError([Fault("the new aircraft", "name", f"{name!r} is there already", "another name")])
        path = self._free(name)
        self.study.files.read(path)
        self.study.files.write(path, text if text.endswith("\n") else text + "\n")
        named = path.relative_to(self.study.folder).as_posix()
        self.study.put(["candidates"], [*(self._candidates()), named])
        self.read()
        return next(card for card in self.cards if card.file == path)

    def set_figure(self, key: str, path: Sequence[str], text: str, was: str | None = None) -> None:
        """Change one figure of an aircraft.

        Parameters
        ----------
        key : str                Dotted key.
        path : sequence of str   Keys and numbers down to the value.
        text : str               As typed.
        was : str, optional      What stood there when it was read; refused where it is another.

        Raises
        ------
        RefusedError          It is not accepted; nothing is written.
        ChangedOutsideError   It is not what whoever typed saw.
        """
        card = self.card(key)
        if was is not None and shown(value_at(card.data, path)) != was.strip():
            raise ChangedOutsideError(f"this was changed elsewhere to {shown(value_at(card.data, path))!r}")
        if list(path) == ["name"] and any(c.name == text.strip() for c in self.cards if c.key != key):
            raise RefusedError([Fault(card.file.name, "name", f"{text.strip()[:60]!r} is there already",
                                      "another name")])
        changed = with_value(card.text, card.file.name, path, figure(text))
        mine = [f for f in profile_faults(changed, card.file) if f.key == ".".join(path)]
        if mine:
            raise RefusedError(mine)
        self._write_card(card, changed)
        if list(path) == ["name"]:
            self.read()

    def remove(self, key: str) -> None:
        """Take an aircraft out of the study; its file stays."""
        card = self.card(key)
        i = self.cards.index(card)
        items = self._candidates()
        self.study.put(["candidates"], [*items[:i], *items[i + 1:]] or None)
        self.read()

    def card(self, key: str) -> Card:
        """Return an aircraft by its key."""
        for card in self.cards:
            if card.key == key:
                return card
        raise RefusedError([Fault(self.study.path.name, key, "is not in the study any more")])

    def _write_card(self, card: Card, text: str) -> None:
        if self.study.folder.resolve() in card.file.resolve().parents:
            self.study.files.write(card.file, text)
            self.cards[self.cards.index(card)] = replace(card, text=text)
        else:    # somebody else's file: ours is a copy
            path = self._free(card.name)
            self.study.files.read(path)
            self.study.files.write(path, text)
            items, i = self._candidates(), self.cards.index(card)
            named: Any = path.relative_to(self.study.folder).as_posix()
            items[i] = {**items[i], "aircraft": named} if isinstance(items[i], dict) else named
            self.study.put(["candidates"], items)
            self.read()

    def _candidates(self) -> list[Any]:
        items = self.study.get(["candidates"])
        return list(items) if isinstance(items, list) else []

    def _free(self, name: str) -> Path:
        stem = re.sub(r"[^a-z0-9]+", "_", name.casefold()).strip("_")[:60] or "aircraft"
        names = (stem, *(f"{stem}_{i}" for i in range(2, 1000)))
        return next(path for n in names if not (path := self.study.folder / "aircraft" / f"{n}.yaml").exists())


def profile_faults(text: str, file: Path) -> list[Fault]:
    """Return what is wrong with an aircraft file, or missing in it."""
    try:
        Profile.model_validate(document(file, text).data)
    except ValidationError as error:
        return faults_of(error, document(file, text), Profile)
    return []
