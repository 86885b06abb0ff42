"""What is wrong with JSON that is not of its form, in a word or two."""

from __future__ import annotations

from pydantic import ValidationError

_OURS = "Value error, "
"""pydantic's words before ours."""


def first_fault(error: ValidationError) -> tuple[str, str]:
    """Where the first fault is, as `drill.band.0`, empty when it is the whole; and what is wrong there."""
    first = error.errors(include_url=False, include_input=False, include_context=False)[0]
    return ".".join(str(part) for part in first["loc"]), first["msg"].removeprefix(_OURS)
