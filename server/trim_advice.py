"""What to tell the person about the stored calibration of a sensor."""

from __future__ import annotations

from datetime import datetime

from server.trims import STALE_AFTER, Kept, Unusable

_ANEW = "To calibrate it, make the moves `still` and six or more `attitude`s on the page."


def found_advice(found: Kept | Unusable | None, name: str, now: datetime) -> str:
    """Say what was found of the sensor called `name`, if there is anything to do about it; else ""."""
    match found:
        case None:
            return f"The {name} sensor has not been calibrated yet. {_ANEW}"
        case Unusable():
            return (
                f"The calibration of the {name} sensor is not used: {found.problem}. The file is {found.path}. {_ANEW}"
            )
        case Kept() if now - found.made > STALE_AFTER:
            days = (now - found.made).days
            return f"The {name} sensor was calibrated {days} days ago, and sensors drift. {_ANEW}"
        case Kept() if found.made > now:
            return f"The calibration of the {name} sensor is from the future: check this computer's date. {_ANEW}"
        case _:
            return ""


def not_kept_advice(problem: str) -> str:
    """Tell the page that a new calibration could not be stored."""
    return f"The new calibration counts for this practice but could not be kept for the next: {problem}."
