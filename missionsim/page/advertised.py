"""What an advertisement proposes, for a person to accept figure by figure."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any

from missionsim.page.fields import LABELS
from missionsim.page.figures import shown
from missionsim.study.inputs.advertisement.propose import Proposal
from missionsim.study.inputs.advertisement.text import FoundWords


def proposed(proposal: Proposal) -> dict[str, Any]:
    """Return a proposal as plain data for the page."""
    return {
        "name": proposal.name, "kind": proposal.class_words, "kind_from": [f.words for f in proposal.class_from],
        "figures": [_row(f) for f in proposal.figures], "also": [_row(f) for f in proposal.also],
        "unread": list(proposal.unread), "letter": proposal.letter,
        "questions": [q.text for q in proposal.questions],
    }


def accepted_text(proposal: Proposal, name: str, accepted: Collection[str]) -> str:
    """Return the aircraft file of the figures that were accepted; the rest stays open.

    Parameters
    ----------
    proposal : Proposal
    name : str                  What the owner of the page calls it; empty keeps the proposed name.
    accepted : collection       Keys of the figures.
    """
    kept = tuple(f for f in proposal.figures if f.key in accepted)
    return replace(proposal, name=name.strip() or proposal.name, figures=kept).profile_text


def _row(found: FoundWords) -> dict[str, str]:
    value = found.value
    if isinstance(value, tuple):
        value = " / ".join(shown(v) for v in value)
    label = found.key.split(".")[-1].replace("_", " ")
    section = found.key.split(".")[0].replace("_", " ") if "." in found.key else ""
    plain = LABELS.get(found.key, f"{section}: {label}" if section else label)
    return {"key": found.key, "label": plain, "value": shown(value),
            "words": found.words, "how": found.how if not found.note else f"{found.how}: {found.note}"}
