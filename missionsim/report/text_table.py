"""A table for people, still plain text: what a command prints once a face has laid it out."""

from __future__ import annotations

from dataclasses import dataclass, field

_NUMBER = frozenset("0123456789")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One table: a title, headings, rows of text, and lines below it."""

    title: str
    headings: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    below: tuple[str, ...] = field(default=())

    @property
    def numbers(self) -> frozenset[int]:
        """Columns that hold figures in every row, and are set flush right."""
        return frozenset(i for i in range(len(self.headings)) if all(_is_figure(row[i]) for row in self.rows))


def _is_figure(text: str) -> bool:
    return text == "-" or (text[:1] in "+-0123456789" and text[-1:] in _NUMBER | {"%"} and " " not in text)
