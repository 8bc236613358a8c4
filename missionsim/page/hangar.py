"""The aircraft of a study as the page edits them, a file each."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from missionsim.aircraft.profile import Profile
from missionsim.base.errors import Fault
from missionsim.page.entries import entry_words
from missionsim.page.fields import ARMS, STATIONS, TANKS, Shown
from missionsim.page.figures import figure, shown
from missionsim.page.files import ChangedOutsideError
from missionsim.page.lists import Listed, listed
from missionsim.page.study_file import RefusedError, StudyFile, document
from missionsim.page.yaml_file import parsed, value_at, with_value
from missionsim.study.inputs.faults import faults_of
from missionsim.study.inputs.overlays import Layers
from missionsim.study.inputs.yaml_lines import dotted

_CORNER = re.compile(r"([-+.\d]+)\s*(?:in\s*)?(?:at|@)\s*([\d.]+)\s*(?:lb)?")


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

    def set_figure(self, key: str, path: Sequence[str], text: str, was: str | None = None) -> list[Fault]:
        """Change one figure of an aircraft; return what of the parts around it did not fit before and does not now.

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
        if was is not None and (now := _shown(path, value_at(card.data, path))) != was.strip():
            raise ChangedOutsideError(f"this was changed elsewhere to {now!r}")
        if list(path) == ["name"] and any(c.name == text.strip() for c in self.cards if c.key != key):
            raise RefusedError([Fault(card.file.name, "name", f"{text.strip()[:60]!r} is there already",
                                      "another name")])
        still = self._put(card, path, _typed(path, text))
        if list(path) == ["name"]:
            self.read()
        return still

    def add_entry(self, key: str, path: Sequence[str], cells: Mapping[str, str]) -> None:
        """Add an entry to a list of an aircraft; without cells, write down the entries that its class gives it.

        Parameters
        ----------
        key : str                Of the card.
        path : sequence of str   Of the list.
        cells : mapping          Text as typed, empty ones left out.

        Raises
        ------
        RefusedError   It is not accepted; nothing is written.
        """
        card = self.card(key)
        there = value_at(card.data, path) or []
        entry = {name: value for name, text in cells.items() if (value := _typed([name], text)) is not None}
        if entry:
            self._put(card, [*path, str(len(there))] if there else path, entry if there else [entry])
        elif not there:
            self._put(card, path, _of_the_class(card, path[0]))

    def remove_entry(self, key: str, path: Sequence[str], number: int, was: str) -> None:
        """Take an entry out of a list of an aircraft.

        Parameters
        ----------
        key : str                Of the card.
        path : sequence of str   Of the list.
        number : int             From 0.
        was : str                What whoever asks saw of it, see `entry_words`.
        """
        card = self.card(key)
        there = value_at(card.data, path) or []
        if not 0 <= number < len(there) or entry_words(there[number]) != was:
            raise ChangedOutsideError("this list was changed elsewhere")
        left = [*there[:number], *there[number + 1:]]
        self._write_card(card, with_value(card.text, card.file.name, path, left or None))

    def _put(self, card: Card, path: Sequence[str], value: Any) -> list[Fault]:
        """Write one value, refused where the aircraft's own rules say something new of it, below or above it."""
        key = dotted(tuple(int(part) if part.isdigit() else part for part in path))
        before = {(f.key, f.what) for f in profile_faults(card.text, card.file)}
        changed = with_value(card.text, card.file.name, path, value)
        faults = profile_faults(changed, card.file)
        around = [f for f in faults if f.key and key.startswith((f"{f.key}.", f"{f.key}["))]
        mine = [f for f in faults if f.key == key or ((f.key, f.what) not in before and (
            f in around or f.key.startswith((f"{key}.", f"{key}["))))]
        if mine:
            raise RefusedError(mine)
        self._write_card(card, changed)
        return around

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


@dataclass(frozen=True)
class CardFile:
    """One aircraft's file, with lists that grow and shrink as those of a study do."""

    hangar: Hangar
    key: str

    def set_value(self, path: Sequence[str], text: str, was: str | None = None) -> list[Fault]:
        """Change one value, see `Hangar.set_figure`."""
        return self.hangar.set_figure(self.key, path, text, was)

    def add_entry(self, path: Sequence[str], cells: Mapping[str, str]) -> None:
        """Add an entry to a list, see `Hangar.add_entry`."""
        self.hangar.add_entry(self.key, path, cells)

    def remove_entry(self, path: Sequence[str], number: int, was: str) -> None:
        """Take an entry out of a list, see `Hangar.remove_entry`."""
        self.hangar.remove_entry(self.key, path, number, was)


def card_lists(data: Any) -> list[Listed]:
    """Return the lists of an aircraft's card: places for people and bags, tanks."""
    return [listed(lambda path: value_at(data, path), *one) for one in (
        ("stations", "Places for people and bags", STATIONS), ("tanks", "Tanks", TANKS))]


def arm_fields(data: Any) -> list[Shown]:
    """Return the single fields of weight and balance."""
    return [Shown(field, _shown(path, value_at(data, path))) for field in ARMS if (path := field.path.split("."))]


def _typed(path: Sequence[str], text: str) -> Any:
    """Return a typed text as plain data: an envelope as its corners, a name as words, else a figure."""
    if list(path) == ["envelope"] and text.strip():
        found = [_CORNER.fullmatch(part.strip()) for part in text.split(",")]
        corners = [{"cg_in": figure(one[1]), "weight_lb": figure(one[2])} for one in found if one]
        return corners if len(corners) == len(found) else text.strip()
    return text.strip() or None if path[-1] == "name" else figure(text)


def _shown(path: Sequence[str], value: Any) -> str:
    if list(path) == ["envelope"] and isinstance(value, list) and all(isinstance(v, dict) for v in value):
        return ", ".join(f"{shown(v.get('cg_in'))} at {shown(v.get('weight_lb'))}" for v in value)
    return shown(value)


def _of_the_class(card: Card, part: str) -> list[dict[str, Any]] | None:
    """Return the places or tanks that an aircraft without any is flown with."""
    try:
        profile = Profile.model_validate(document(card.file, card.text).data)
    except ValidationError:
        return None
    entries = profile.stations if part == "stations" else profile.tanks
    return [entry.model_dump(exclude_none=True, exclude_defaults=True) for entry in entries]


def profile_faults(text: str, file: Path) -> list[Fault]:
    """Return what is wrong with an aircraft file, or missing in it."""
    try:
        Profile.model_validate(document(file, text).data)
    except ValidationError as error:
        return faults_of(error, document(file, text), Profile)
    return []
