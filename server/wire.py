"""The contract with the browser: every message on `/ws/live`, in degrees, absent = null.

`shared/live.schema.json` and the page's TypeScript types are generated from here.

Evolution: fields are only added; a reader ignores a `type` it does not know and counts it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter

from fusion.drills.drill import Quantity
from fusion.outputs import Doubt, FitReason, FitState, Phase, RepFlag, Verdict
from sensors.events import LinkReason, LinkState
from sensors.ids import Move, Role, Side

PROTOCOL_VERSION = 1


class Message(BaseModel):
    """Strict, immutable, no NaN or infinity."""

    model_config = ConfigDict(frozen=True, strict=True, extra="forbid", allow_inf_nan=False)


class SourceView(Message):
    """Where the data comes from."""

    kind: Literal["demo", "live", "replay", "virtual"]
    name: str
    """The recording's name, or the radio's; for `virtual`, live data of sensors that do not exist, what plays them."""
    speed: float


class PlayerView(Message):
    """Who swings."""

    name: str
    lead_side: Side
    club: str


class DrillView(Message):
    """The active drill, in degrees."""

    name: str
    feel: str
    quantity: Quantity
    phases: list[Phase]
    low_deg: float
    high_deg: float


class SensorView(Message):
    """One sensor's health."""

    sensor: str
    role: Role
    name: str
    state: LinkState
    reason: LinkReason
    advice: str
    """What to do, in a plain sentence; empty when all is well."""
    rate_hz: float
    """Samples a second over the last second or so; 0 when silent."""
    n_samples: int
    n_lost: int
    n_malformed: int
    battery_pct: int | None


class MarkView(Message):
    """The angles as a mark of the swing was passed."""

    bend_change_deg: float | None
    hinge_change_deg: float | None
    shaft_pitch_deg: float | None
    face_twist_deg: float | None
    pitch_per_bend: float | None = None
    """Degrees of shaft pitch for one degree more bend, all else held; negative: bowing flattens."""


class RepMessage(Message):
    """A swing was completed."""

    type: Literal["rep"] = "rep"
    index: int
    t_s: float
    verdict: Verdict
    worst_deg: float | None
    out_s: float
    backswing_s: float
    downswing_s: float | None
    shaft_level: MarkView | None
    arm_level: MarkView | None
    top: MarkView | None
    doubt: Doubt
    advice: str
    """Why it could not be judged; empty otherwise."""
    tempo: float | None = None
    """Backswing time over downswing time."""
    flags: list[RepFlag] = []
    """What is particular about it."""


class FitView(Message):
    """Which fit moves are in, and whether angles can be computed."""

    complete: bool
    taken: list[Move]


class FitMessage(Message):
    """News of a fit move."""

    type: Literal["fit"] = "fit"
    move: Move
    state: FitState
    reason: FitReason
    measured: float | None
    limit: float | None
    advice: str
    """What to do next or differently, in a plain sentence."""
    fit: FitView


class SensorsMessage(Message):
    """Health of all sensors, about twice a second and at each change."""

    type: Literal["sensors"] = "sensors"
    sensors: list[SensorView]


class FrameMessage(Message):
    """The newest instant: newest wins, some may be skipped."""

    type: Literal["frame"] = "frame"
    seq: int
    """Counts frames made, so that a client can see what it skipped."""
    t_s: float
    phase: Phase
    bend_change_deg: float | None
    bend_deg: float | None
    hinge_change_deg: float | None
    roll_change_deg: float | None
    shaft_elevation_deg: float | None
    shaft_pitch_deg: float | None
    arm_elevation_deg: float | None
    face_twist_deg: float | None
    doubt: Doubt
    pitch_doubt: Doubt
    advice: str
    """Why values are absent and what to do; empty when they are present."""
    sounding: bool
    """Whether the cue should be sounding now."""
    error_deg: float
    """How far the drill quantity is outside its band, negative below; 0 inside or outside the drill's phases."""
    since_rest_s: float | None
    bend_change_sd_deg: float | None = None
    """One standard deviation of `bend_change_deg`; null where that is."""
    shaft_pitch_sd_deg: float | None = None
    """The same of `shaft_pitch_deg`."""


class PhaseMessage(Message):
    """A phase of the swing began."""

    type: Literal["phase"] = "phase"
    t_s: float
    phase: Phase


class CueMessage(Message):
    """The cue starts or stops; never skipped."""

    type: Literal["cue"] = "cue"
    t_s: float
    sounding: bool
    error_deg: float


class ProblemMessage(Message):
    """Something the person should know, in plain words."""

    type: Literal["problem"] = "problem"
    code: str
    text: str


class EndMessage(Message):
    """The source has nothing more to give (a recording ended; a demo starts again by itself)."""

    type: Literal["end"] = "end"
    again: bool
    """The same recording starts over: the page keeps its last rep, counts begin anew."""


class PongMessage(Message):
    """Answer to a ping, same token."""

    type: Literal["pong"] = "pong"
    token: int


class HelloMessage(Message):
    """First message to each client: the whole present state, so that a late joiner lacks nothing."""

    type: Literal["hello"] = "hello"
    protocol: int
    version: str
    source: SourceView
    player: PlayerView | None
    drill: DrillView
    fit: FitView
    sensors: list[SensorView]
    frame: FrameMessage | None
    reps: list[RepMessage]
    """The latest reps, oldest first, at most twelve."""
    recording: str | None
    """Where this practice is being recorded, if it is."""


ServerMessage = Annotated[
    HelloMessage
    | FrameMessage
    | PhaseMessage
    | CueMessage
    | RepMessage
    | SensorsMessage
    | FitMessage
    | ProblemMessage
    | EndMessage
    | PongMessage,
    Field(discriminator="type"),
]


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


ClientMessage = Annotated[AckMessage | PingMessage | MoveMessage, Field(discriminator="type")]

SERVER_MESSAGE: TypeAdapter[ServerMessage] = TypeAdapter(ServerMessage)
CLIENT_MESSAGE: TypeAdapter[ClientMessage] = TypeAdapter(ClientMessage)
