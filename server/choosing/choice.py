"""A person's choice among the sensors in reach: carried out on the source, shown to every page, told when it is made."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Final

from sensors.errors import RadioError
from sensors.events import LinkReason, RawPacket, SensorPlaced, SourceEvent
from sensors.ids import PAIR, WORN, Role, SensorId
from sensors.sources.base import Controls
from server.choosing import sentences
from server.choosing.candidates import Candidate, Candidates
from server.choosing.curtain import Curtain
from server.views import link_view
from server.wire import ProblemMessage
from server.wire_choosing import CandidateView, ChoosingView
from server.wire_client import BlinkMessage, ChooseMessage, PlaceMessage, SwapMessage

SHOWN_EVERY_NS: Final = 100_000_000
"""Ten pictures a second: a line lights up while the hand still moves."""
_FULL_RAD_S: Final = math.radians(360.0)
"""Turning this fast fills the bar."""

Places = Mapping[Role, SensorId]


class Choice:
    """Open while somebody chooses. `on_made` is told the places whenever they have changed and the pair is complete."""

    def __init__(self, *, is_open: bool, on_made: Callable[[Places], None]) -> None:
        self.is_open = is_open
        self.curtain = Curtain()
        self._on_made = on_made
        self._candidates = Candidates()
        self._controls: Controls | None = None
        self._shown_ns: int | None = None
        self._made: dict[Role, SensorId] = {}

    def attach(self, controls: Controls | None) -> None:
        """A source has been opened; None for one that lets nobody choose."""
        self._controls = controls
        if controls is not None and self.is_open:
            controls.gather(on=True)

    def push(self, event: SourceEvent) -> bool:
        """Take in one event; True when what is shown has to be shown again."""
        if not self.is_open and isinstance(event, RawPacket):
            return False
        self._candidates.push(event)
        if not self.is_open:
            return False
        if self._shown_ns is None or isinstance(event, SensorPlaced):
            return True
        return event.arrival_ns - self._shown_ns >= SHOWN_EVERY_NS

    def view(self, now_ns: int) -> ChoosingView:
        """What the pages are to show."""
        self._shown_ns = now_ns
        candidates = self._candidates.at(now_ns) if self.is_open else ()
        wanted = self._candidates.wanted
        unread = next((one.health.name for one in candidates if one.is_unread), None)
        controls = self._controls
        trouble = controls.trouble if controls is not None else LinkReason.NONE
        first = controls.waits_for if controls is not None and self.is_open else None
        elsewhere = controls.worn_elsewhere if controls is not None and self.is_open else ()
        return ChoosingView(
            open=self.is_open,
            wanted=wanted,
            instruction=sentences.next_instruction(
                wanted, n_heard=len(candidates), trouble=trouble, unread=unread, first=first
            ),
            trouble=trouble,
            complete=wanted is None,
            places=list(WORN),
            sensors=[_view(one, said=trouble) for one in candidates],
            waiting=first is not None,
            elsewhere=[sentences.worn_elsewhere(one) for one in elsewhere],
        )

    async def obey(
        self, message: ChooseMessage | PlaceMessage | SwapMessage | BlinkMessage, *, over: bool
    ) -> ProblemMessage | None:
        """Do what a page asks; gives the reason when that cannot be."""
        match message:
            case ChooseMessage(open=True):
                return self.begin(over=over)
            case ChooseMessage():
                return self.end()
            case PlaceMessage():
                return self.place(message.sensor, message.role)
            case SwapMessage():
                return self.swap()
            case BlinkMessage():
                return await self.blink(message.sensor)

    def begin(self, *, over: bool) -> ProblemMessage | None:
        """Open the choice; gives the reason when that cannot be."""
        if self._controls is None or over:
            return ProblemMessage(code="no_choice", text=sentences.no_choice_advice(over=over))
        if not self.is_open or self._controls.waits_for is not None:
            self.is_open = True
            self._controls.gather(on=True)
        return None

    def end(self) -> ProblemMessage | None:
        """Close the choice; gives the reason when that cannot be."""
        wanted = self._candidates.wanted
        if wanted is not None:
            return ProblemMessage(code="not_complete", text=sentences.not_complete_advice(wanted))
        self.is_open = False
        if self._controls is not None:
            self._controls.gather(on=False)
        self._tell()
        return None

    def place(self, sensor: str, role: Role) -> ProblemMessage | None:
        """Give a sensor a place, or take its place from it (SPARE); gives the reason when that cannot be."""
        known = next((one for one in self._candidates.roles if one == sensor), None)
        if self._controls is None:
            return ProblemMessage(code="no_choice", text=sentences.no_choice_advice(over=False))
        for worn in self._controls.worn_elsewhere:
            if worn.sensor.lower() == sensor.lower() and role is not Role.SPARE:
                return ProblemMessage(code="worn_elsewhere", text=sentences.worn_elsewhere_advice(worn))
        if known is None:
            return ProblemMessage(code="unknown_sensor", text=sentences.unknown_sensor_advice())
        self._controls.place({known: role})
        return None

    def swap(self) -> ProblemMessage | None:
        """Exchange forearm and club; gives the reason when that cannot be."""
        forearm, club = (self._candidates.wearer(role) for role in PAIR)
        if self._controls is None:
            return ProblemMessage(code="no_choice", text=sentences.no_choice_advice(over=False))
        if forearm is None or club is None:
            return ProblemMessage(code="no_pair", text=sentences.no_pair_advice())
        self._controls.place({forearm: Role.CLUB, club: Role.FOREARM})
        return None

    async def blink(self, sensor: str) -> ProblemMessage | None:
        """Have a sensor show itself; gives the reason when it cannot."""
        if self._controls is None:
            return ProblemMessage(code="no_choice", text=sentences.no_choice_advice(over=False))
        try:
            await self._controls.blink(SensorId(sensor))
        except RadioError as error:
            return ProblemMessage(code="no_blink", text=sentences.no_blink_advice(error.reason))
        return None

    def placed(self) -> None:
        """The places have changed, as the source says: to be called when nothing more of the change is to come."""
        if not self.is_open:
            self._tell()

    def _tell(self) -> None:
        made: dict[Role, SensorId] = {
            role: sensor for sensor, role in self._candidates.roles.items() if role is not Role.SPARE
        }
        if made != self._made and self._candidates.wanted is None:
            self._made = made
            self._on_made(made)


def _view(candidate: Candidate, *, said: LinkReason) -> CandidateView:
    """Show one; what the instruction has said already is not said again beside each."""
    health = candidate.health
    reason, advice = link_view(health)
    if reason is said:
        advice = ""
    return CandidateView(
        sensor=health.sensor,
        name=health.name,
        role=health.role,
        state=health.state,
        reason=reason,
        advice=advice,
        activity=round(min(1.0, math.sqrt(candidate.level_rad_s / _FULL_RAD_S)), 2),
        moving=candidate.moving,
        battery_pct=health.battery_pct,
    )
