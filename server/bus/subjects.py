"""What practices are called on a bus: `pitchbend.bay.<id>.<instance>.<what>`, one instance for each time a service runs."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass
from typing import Final

_ROOT: Final = "pitchbend.bay"
_ID: Final = r"[a-z0-9]+(?:-[a-z0-9]+)*"
_NUMBER: Final = r"[0-9a-f]{16}"
_SUBJECT: Final = re.compile(rf"pitchbend\.bay\.({_ID})\.({_NUMBER})\.(here|live|ask|guests)(?:\.({_NUMBER}))?")
_ANSWERS: Final = re.compile(r"pitchbend\.answer\.[0-9a-f]+\.[0-9]+")

ALL_HERE: Final = f"{_ROOT}.*.*.here"


@dataclass(frozen=True, slots=True)
class BayAddress:
    """One practice of one run of a service."""

    id: str
    instance: str

    @property
    def here(self) -> str:
        """It tells that it is there, and how it stands."""
        return self._at("here")

    @property
    def ask(self) -> str:
        """It is asked for something."""
        return self._at("ask")

    @property
    def guests(self) -> str:
        """A board tells it who looks on there."""
        return self._at("guests")

    def live(self, board: str) -> str:
        """It tells one board everything that its pages are told."""
        return f"{self._at('live')}.{board}"

    def _at(self, what: str) -> str:
        return f"{_ROOT}.{self.id}.{self.instance}.{what}"


def all_live(board: str) -> str:
    """Everything that practices tell this board."""
    return f"{_ROOT}.*.*.live.{board}"


def address_in(subject: str) -> BayAddress | None:
    """Find the practice that a subject is of; None when it is none of ours."""
    found = _SUBJECT.fullmatch(subject)
    return None if found is None or len(found[1]) > 64 else BayAddress(found[1], found[2])


def is_for_answers(subject: str) -> bool:
    """Whether an answer may be published there: nobody makes a practice speak where it does not want to."""
    return _ANSWERS.fullmatch(subject) is not None


def new_number() -> str:
    """Draw what tells one run of a service from the next."""
    return secrets.token_hex(8)
