"""Whose practices somebody may see who has joined: see "Who may" in `docs/api.md`.

Rule 1: the computer itself and coaches see everything, who watches nothing that is stored.
Rule 2: who practises sees what is stored under the name of the practice that the link is for, and what was sent from that device.
Rule 3: the rule is asked before any route that reads the store: for the practice, player or recording that its address names.
A route whose address names none must itself look at `TheSight`.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Annotated, Final

from fastapi import Depends, Request

from server.api.asked import TheArchive
from server.api.errors import ApiProblem, ProblemCode
from server.joining.guest import Guest, PlayerOf, guest_of
from server.joining.oversees import oversees
from server.store import looking


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """What of the store one may see."""

    everything: bool = False
    player: str = ""
    """By whose name, where not everything; empty for nobody's."""
    keys: frozenset[str] = field(default_factory=frozenset)
    """Practices whose recordings were sent from the same device."""

    def covers(self, player: str, key: str) -> bool:
        """Whether a practice is among it."""
        return self.everything or key in self.keys or self.is_of(player)

    def is_of(self, player: str) -> bool:
        """Whether all of a player is."""
        return self.everything or (player != "" and player == self.player)


EVERYTHING: Final = Sight(everything=True)


def may_see(request: Request, archive: TheArchive) -> Sight:
    """Refuse what is not for whoever asks. Raises `ApiProblem`, `StoreError`."""
    guest = guest_of(request)
    if oversees(request):
        return EVERYTHING
    if guest.only_watches:
        said = "Who watches sees what is swung now, and nothing that is stored. Ask the coach for a link to practise or to coach."
        raise ApiProblem(403, ProblemCode.NOT_YOURS, said)
    player_of: PlayerOf = request.app.state.player_of
    sight = Sight(player=player_of(guest), keys=frozenset(_keys(archive, guest)))
    asked = request.path_params
    if "name" in asked and not sight.is_of(asked["name"]):
        raise _not_yours(sight)
    if "sha256" in asked and asked["sha256"] not in archive.sent_by(guest.id):
        raise _not_yours(sight)
    if "key" in asked:
        with archive.database().reading() as connection:
            player = looking.player_of_practice(connection, asked["key"])
        if player is not None and not sight.covers(player, asked["key"]):
            raise _not_yours(sight)
    return sight


TheSight = Annotated[Sight, Depends(may_see)]


def _keys(archive: TheArchive, guest: Guest) -> list[str]:
    sent = archive.sent_by(guest.id)
    if not sent:
        return []
    with archive.database().reading() as connection:
        return looking.keys_of_recordings(connection, sent)


def _not_yours(sight: Sight) -> ApiProblem:
    whose = f"the practices of {sight.player} and " if sight.player else ""
    said = f"By your link you see {whose}what was sent from this device. For anything else ask the coach."
    return ApiProblem(403, ProblemCode.NOT_YOURS, said)
