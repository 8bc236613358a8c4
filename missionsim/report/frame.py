"""The frame of a page that is one file: its templates, and the policy that lets nothing run or dress it but its own."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from missionsim import __version__


class Headings:
    """Headings of a page's tables, by a class of their own in its style sheet: narrow screens write them before cells.

    Said once for all tables that have the same and not once a cell, which would be a sixth of the file; in the style
    sheet and not in the tables, since the policy of the page lets no element carry its own style.
    """

    def __init__(self) -> None:
        self._names: dict[tuple[str, ...], str] = {}

    def named(self, head: Sequence[str]) -> str:
        """Return the class of a table with such headings."""
        return self._names.setdefault(tuple(head), f"heads-{len(self._names)}")

    def style(self) -> str:
        """Return a rule for each class: the headings as properties `--h2 ...`."""
        return "".join(f".{name}{{{labels(head)}}}\n" for head, name in self._names.items())


def labels(head: Sequence[str]) -> str:
    """Return headings as style properties `--h2 ...`, none for the first, which stands in a heading of its row.

    Whatever is no letter, digit or plain mark is written by its number, so that no heading ends its own quotes.
    """
    return ";".join(f"--h{k}:'{_css_text(text)}'" for k, text in enumerate(head, 1) if k > 1)


def _css_text(text: str) -> str:
    return "".join(c if c.isalnum() or c in " ,.:/$%()-" else f"\\{ord(c):x} " for c in text)


@cache
def environment() -> Environment:
    """Return the templates; whatever a user wrote shows as text."""
    made = Environment(loader=PackageLoader("missionsim.report"), autoescape=True, undefined=StrictUndefined,
                       trim_blocks=True, lstrip_blocks=True)
    made.filters["svg"] = lambda figure: Markup(figure.svg)
    made.policies["json.dumps_kwargs"] = {"sort_keys": True, "separators": (",", ":")}
    return made


@cache
def source(name: str) -> str:
    """Return the text of a style sheet or script among the templates."""
    return resources.files("missionsim.report").joinpath("templates", *name.split("/")).read_text(encoding="utf-8")


def whole_page(template: str, title: str, script: str, context: Mapping[str, Any]) -> str:
    """Return a page as one file that needs nothing else.

    Scripts and styles count by their hashes, wherever they stand: an attribute can neither act nor dress anything.

    Parameters
    ----------
    template : str        Name of the template of what stands in its body.
    title, script : str
    context : mapping     What the template tells.
    """
    headings = Headings()
    body = environment().get_template(template).render(headings=headings, **context)
    style = source("parts/parts.css") + source("report.css") + headings.style()
    policy = (f"default-src 'none'; style-src {_hash(style)}; script-src {_hash(script)}; img-src data:; "
              "base-uri 'none'; form-action 'none'")
    return environment().get_template("frame.html.j2").render(
        title=title, version=__version__, policy=Markup(policy), style=Markup(style), script=Markup(script),
        body=Markup(body))


def _hash(text: str) -> str:
    return f"'sha256-{base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()}'"
