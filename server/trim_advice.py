"""What to tell the person about the stored calibration of a sensor."""

from __future__ import annotations

from datetime import datetime

from server.trims import STALE_AFTER, Kept, Unusable

_ANEW = "To calibrate it, make the moves `still` and six or more `attitude`s on the page."


def due_words(found: Kept | Unusable | None, now: datetime | None) -> str:
    """Say why a sensor should be calibrated; empty when it is. Its age is known with a `now` only."""
    match found:
        case None:
            return "It has not been calibrated yet."
        case Unusable():
            return f"Its calibration is not used: {found.problem}. The file is {found.path}."
        case Kept() if now is not None and now - found.made > STALE_AFTER:
            return f"It was calibrated {(now - found.made).days} days ago, and sensors drift."
        case Kept() if now is not None and found.made > now:
            return "Its calibration is from the future: check this computer's date."
        case _:
            return ""


def found_advice(found: Kept | Unusable | None, name: str, now: datetime) -> str:
    """Say in the terminal what was found of the sensor called `name`, if there is anything to do about it; else ""."""
    due = due_words(found, now).replace("It ", f"The {name} sensor ", 1)
    due = due.replace("Its calibration", f"The calibration of the {name} sensor", 1)
    return f"{due} {_ANEW}" if due else ""


def not_kept_advice(problem: str) -> str:
    """Tell the page that a new calibration could not be stored."""
    return f"The new calibration counts for this practice but could not be kept for the next: {problem}."
