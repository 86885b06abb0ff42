"""The part of the contract that a client says."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from sensors.ids import Move, Role
from server.wire_base import Message
from server.wire_lesson import ControlAskMessage, MarkRepMessage, SayMessage, WriteNoteMessage
from server.wire_replay import ReplayAsk


class AckMessage(Message):
    """The client has handled frame `seq`; sent about four times a second. A client too far behind gets fewer frames."""

    type: Literal["ack"] = "ack"
    seq: int = Field(ge=0)


class PingMessage(Message):
    """Asks for a pong: clock sync and keep-alive."""

    type: Literal["ping"] = "ping"
    token: int


class MoveMessage(Message):
    """The golfer begins a fit move."""

    type: Literal["move"] = "move"
    move: Annotated[Move, Field(strict=False)]


class ChooseDrillMessage(Message):
    """The player or the coach chooses a drill; the one in force begins anew."""

    type: Literal["drill"] = "drill"
    id: str = Field(max_length=120)


class LookAheadMessage(Message):
    """The cue is to begin so much early."""

    type: Literal["look_ahead"] = "look_ahead"
    ms: int = Field(ge=0, le=200)


DrillWords = Annotated[str, Field(max_length=3000)]
"""A drill as TOML."""


class DrillTextMessage(Message):
    """A drill that stands in no file is to be in force."""

    type: Literal["drill_text"] = "drill_text"
    text: DrillWords


class BandMessage(Message):
    """The drill in force, with another band: in the drill's own unit."""

    type: Literal["band"] = "band"
    low: float = Field(ge=-1000, le=1000)
    high: float = Field(ge=-1000, le=1000)


class SecondMessage(Message):
    """Another drill is to be judged beside the one in force; null: none any more."""

    type: Literal["second"] = "second"
    id: str | None = Field(max_length=120)


class EditDrillMessage(Message):
    """Asks for a drill key by key; null: the one in force."""

    type: Literal["edit_drill"] = "edit_drill"
    id: str | None = Field(max_length=120)


class TryDrillMessage(Message):
    """Asks what a drill would have made of the last rep."""

    type: Literal["try_drill"] = "try_drill"
    text: DrillWords


class SaveDrillMessage(Message):
    """A drill is to be kept among one's own."""

    type: Literal["save_drill"] = "save_drill"
    text: DrillWords
    id: str = Field(max_length=60)


DrillAsk = (
    ChooseDrillMessage
    | DrillTextMessage
    | BandMessage
    | SecondMessage
    | EditDrillMessage
    | TryDrillMessage
    | SaveDrillMessage
)
"""All that is said about drills."""


class PauseMessage(Message):
    """The player pauses (`on`), or goes on."""

    type: Literal["pause"] = "pause"
    on: bool


class ClubMessage(Message):
    """The player swings another club from now on, in their own words."""

    type: Literal["club"] = "club"
    club: str = Field(max_length=40)


class LengthsMessage(Message):
    """How long the club and the lead arm are; null: not known."""

    type: Literal["lengths"] = "lengths"
    club_length_m: float | None = Field(ge=0.4, le=1.5)
    """Butt to head along the shaft."""
    arm_length_m: float | None = Field(ge=0.3, le=1.1)
    """Lead shoulder to the middle of the hands."""


SensorName = Annotated[str, Field(min_length=1, max_length=100)]


class ChooseMessage(Message):
    """Somebody wants to give out places (`open`), or has done so and begins the practice."""

    type: Literal["choose"] = "choose"
    open: bool


class PlaceMessage(Message):
    """A sensor is worn there from now on; `spare` takes its place from it."""

    type: Literal["place"] = "place"
    sensor: SensorName
    role: Annotated[Role, Field(strict=False)]


class SwapMessage(Message):
    """Forearm and club sensor change places."""

    type: Literal["swap"] = "swap"


class BlinkMessage(Message):
    """A sensor is to show itself."""

    type: Literal["blink"] = "blink"
    sensor: SensorName


Wish = (
    MoveMessage
    | ChooseDrillMessage
    | DrillTextMessage
    | BandMessage
    | SecondMessage
    | EditDrillMessage
    | TryDrillMessage
    | SaveDrillMessage
    | LookAheadMessage
    | PauseMessage
    | ClubMessage
    | LengthsMessage
    | ChooseMessage
    | PlaceMessage
    | SwapMessage
    | BlinkMessage
    | ControlAskMessage
    | MarkRepMessage
    | WriteNoteMessage
    | SayMessage
    | ReplayAsk
)
"""What changes something, if it may: a practice answers it (`server.bays`). The other two concern the connection alone."""

ClientMessage = Annotated[AckMessage | PingMessage | Wish, Field(discriminator="type")]

CLIENT_MESSAGE: TypeAdapter[ClientMessage] = TypeAdapter(ClientMessage)
