"""An answer in sentences, for the terminal."""

from __future__ import annotations

from pydantic import ValidationError

from server.answer.form import Answer

_CALLED = {
    "author": "The name",
    "priority": "The priority",
    "text": "A note's text",
    "rep": "A note's rep",
    "after_takeaway_s": "A note's instant",
    "notes": "The notes",
}


def answer_sentences(answer: Answer) -> list[str]:
    """Say who says what."""
    to = f" to {answer.player}" if answer.player else ""
    out = [f"{answer.author}{to}: {answer.priority}"]
    for note in answer.notes:
        at = "" if note.after_takeaway_s is None else f", {note.after_takeaway_s:.2f} s after takeaway"
        out.append(f"Rep {note.rep}{at}: {note.text}")
    drill = answer.drill
    if drill is not None:
        out.append(f"To practise: {drill.name}. {drill.aim}".rstrip())
    return out


def wrong_sentence(error: ValidationError) -> str:
    """Say which part of an answer cannot be used, and why."""
    first = error.errors(include_url=False, include_input=False)[0]
    names = [_CALLED[part] for part in first["loc"] if part in _CALLED]
    told = first["msg"].removeprefix("Value error, ")
    return f"{names[-1] if names else 'The answer'} cannot be used: {told[:1].lower()}{told[1:]}."
