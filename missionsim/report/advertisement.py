"""What an advertisement says, as lines and tables for people and as data."""

from __future__ import annotations

from typing import Any

from missionsim.report.text_table import Sheet
from missionsim.study.inputs.advertisement.propose import Proposal
from missionsim.study.inputs.advertisement.text import FoundWords


def proposal_sheets(name: str, proposal: Proposal) -> list[tuple[list[str], list[Sheet]]]:
    """Return lines to be said and tables to be shown below them."""
    words = ", ".join(f'"{f.words}"' for f in proposal.class_from)
    kind = f"{proposal.class_words} (from {words})" if proposal.class_words else "not clear from the words"
    lines = [f"{name}: {len(proposal.figures)} figures of a profile, {len(proposal.also)} other facts, "
             f"{len(proposal.questions)} questions left", f"Class: {kind}",
             _whole(proposal),
             "What a seller writes is a claim: the papers decide, and a licensed mechanic inspects before anyone buys."]
    unread = tuple((clause,) for clause in proposal.unread)
    asked = tuple((str(i), q.text, q.why) for i, q in enumerate(proposal.questions, 1))
    sheets = [
        Sheet("What it says, with its own words: check each line", ("figure", "value", "words", "how read"),
              tuple(_row(f) for f in proposal.figures)),
        Sheet("Also said, for you to read: no figure of a profile", ("fact", "value", "words", "how read"),
              tuple(_row(f) for f in proposal.also)),
        Sheet("Not understood: nothing was taken from these words", ("words",), unread),
        Sheet("What to ask the seller, those about most money first", ("", "question", "why"), asked),
    ]
    return [(lines, [sheet for sheet in sheets if sheet.rows])]


def _whole(proposal: Proposal) -> str:
    if proposal.not_flown_because:
        return f"No profile that flies can be made of it: {proposal.not_flown_because}."
    if proposal.misfits:
        return f"These claims fit no such aircraft; ask, and change the profile below: {'; '.join(proposal.misfits)}."
    return (f"The profile below flies: {len(proposal.guesses)} figures the advertisement does not say are filled from "
            "its class; those that count are drawn anew in every simulated year. `missionsim check` lists them.")


def _row(found: FoundWords) -> tuple[str, str, str, str]:
    return found.key, shown_value(found.value), found.words, found.how + (f": {found.note}" if found.note else "")


def shown_value(value: Any) -> str:
    """Return a value of an advertisement for people."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, tuple):
        return (" to ".join(f"{v:g}" for v in (value[0], value[-1])) if len(value) == 3
                else ", ".join(str(v) if isinstance(v, str) else f"{v:g}" for v in value))
    return f"{value:,.10g}" if isinstance(value, float) else str(value)


def proposal_json(name: str, proposal: Proposal) -> dict[str, Any]:
    """Return what an advertisement says as plain data."""

    def plain(found: FoundWords) -> dict[str, Any]:
        value = list(found.value) if isinstance(found.value, tuple) else found.value
        return {"key": found.key, "value": value, "words": found.words, "start": found.start, "how": found.how,
                "note": found.note}

    return {"file": name, "kind": "advertisement", "name": proposal.name, "class": proposal.class_words,
            "class_from": [plain(f) for f in proposal.class_from], "figures": [plain(f) for f in proposal.figures],
            "also": [plain(f) for f in proposal.also], "not_understood": list(proposal.unread),
            "questions": [{"key": q.key, "text": q.text, "why": q.why} for q in proposal.questions],
            "letter": proposal.letter, "profile": proposal.profile_text,
            "guesses": [plain(f) for f in proposal.guesses], "not_flown_because": proposal.not_flown_because,
            "misfits": list(proposal.misfits)}
