"""What a request asks for: read with bounds, and refused as a whole where it is not of the form that the page sends."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, TypeGuard

from starlette.exceptions import HTTPException
from starlette.requests import Request

MOST_BYTES = 4_000_000
_HALF = re.compile("[\ud800-\udfff]")
"""Halves of characters, which no file can hold."""
_PART = re.compile(r"[A-Za-z_]\w*|\d{1,4}", re.ASCII)
"""A key, or the number of an entry."""


async def body_of(request: Request) -> bytes:
    """Return what was sent, refused before it is read where it is too long."""
    length = request.headers.get("content-length", "")
    if not re.fullmatch("[0-9]{1,12}", length) or int(length) > MOST_BYTES:
        raise HTTPException(413)
    return await request.body()


async def json_of(request: Request) -> dict[str, Any]:
    """Return the JSON object that was sent."""
    try:
        found = json.loads(await body_of(request))
        whole = isinstance(found, dict) and not _HALF.search(json.dumps(found, ensure_ascii=False))
    except (ValueError, RecursionError):    # no JSON, figures without end, nested without end
        raise HTTPException(400) from None
    if not whole:
        raise HTTPException(400)
    return dict(found)


def text_of(given: Mapping[str, Any], name: str) -> str:
    """Return a text of what was sent."""
    value = given.get(name)
    if not isinstance(value, str):
        raise HTTPException(400)
    return value


def seen_of(given: Mapping[str, Any]) -> str | None:
    """Return what whoever asks saw before, None where that does not matter."""
    return None if given.get("was") is None else text_of(given, "was")


def are_words(value: Any) -> TypeGuard[dict[str, str]]:
    """Tell whether a value is a table of texts."""
    return isinstance(value, dict) and all(isinstance(v, str) for pair in value.items() for v in pair)


def texts_of(given: Mapping[str, Any], name: str) -> list[str]:
    """Return a list of texts of what was sent."""
    value = given.get(name)
    if not isinstance(value, list) or not all(isinstance(v, str) for v in value):
        raise HTTPException(400)
    return value


def path_of(given: Mapping[str, Any]) -> list[str]:
    """Return the key path of what was sent."""
    parts = text_of(given, "path").split(".")
    if not all(map(_PART.fullmatch, parts)) or len(parts) > 6:
        raise HTTPException(400)
    return parts


def number_of(given: Mapping[str, Any]) -> int:
    """Return the number of an entry that was sent."""
    value = given.get("number")
    if isinstance(value, bool) or not isinstance(value, int):
        raise HTTPException(400)
    return value


def cells_of(given: Mapping[str, Any]) -> dict[str, str]:
    """Return the cells of an entry that was sent, by key path; none stands inside another."""
    value = given.get("cells")
    if not are_words(value) or len(value) > 60 or not all(
            _PART.fullmatch(part) for key in value for part in key.split(".")):
        raise HTTPException(400)
    if any(a.startswith(f"{b}.") for a in value for b in value):
        raise HTTPException(400)
    return {key: text[:2_000] for key, text in value.items()}
