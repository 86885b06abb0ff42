"""The contract with the browser: every message on `/ws/live`, in degrees, absent = null.

`shared/live.schema.json` and the page's TypeScript types are generated from here.

Evolution: fields are only added; a reader ignores a `type` it does not know and counts it.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, TypeAdapter

from fusion.drills.course import CueShare
from fusion.drills.quantity import Quantity, Unit
from fusion.outputs.instant import Doubt, Phase
from fusion.outputs.rep import RepFlag, Verdict
from sensors.battery import BatteryState
from sensors.events import LinkReason, LinkState
from sensors.ids import Role, Side
from server.wire_base import Message
from server.wire_choosing import ChoosingMessage, ChoosingView
from server.wire_drills import DrillChoice, DrillFormMessage, DrillsMessage, JudgedView, SignalMessage, TriedMessage
from server.wire_fit import FitMessage, FitView
from server.wire_health import HealthView, TapeView
from server.wire_lesson import BayRef, ControlMessage, Holder, NoteMessage, RepMarkMessage, SaidMessage
from server.wire_replay import ReplayMessage, ReplayTimelineMessage, ReplayView

PROTOCOL_VERSION = 2


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
    club_length_m: float | None = None
    """Butt to head along the shaft; null when it was not told."""
    arm_length_m: float | None = None
    """Lead shoulder to the middle of the hands; the same."""


class DrillView(Message):
    """A drill in force."""

    name: str
    feel: str
    quantity: Quantity
    phases: list[Phase]
    low_deg: float | None
    """The band's edges; null where `unit` is not degrees."""
    high_deg: float | None
    unit: Unit
    low: float
    """The same in `unit`, whichever it is."""
    high: float
    least_band: float = 0.0
    """The band's least width, in `unit`: a narrower one is refused; 0: not told."""
    warn: float | None = None
    """So far inside the edge it ticks, in `unit`; null: it does not."""
    aim: str = ""
    """What a good rep looks like, in one sentence."""


class BlockView(Message):
    """One block of a drill, and what became of it."""

    reps: int
    cue: CueShare
    swung: int
    judged: int
    in_band: int


class CourseView(Message):
    """Where the player stands in a drill's blocks."""

    blocks: list[BlockView]
    block: int | None
    """Which one is under way, from 0; null when all are done."""
    cued: bool
    """Whether the next rep is cued."""
    testing: bool
    """The next rep is of a test: no cue, and figures hidden until the block is done."""


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
    n_lost: int | None
    """None when the sensor's packets have neither counter nor clock, so that a loss cannot be seen."""
    n_malformed: int
    battery_pct: int | None
    battery: BatteryState = BatteryState.UNKNOWN
    battery_advice: str = ""
    """What the level means for the practice; empty when it means nothing."""
    trim_due: str = ""
    """Why it should be calibrated, in plain words; empty when it is, and for a sensor of a recording."""
    health: HealthView | None = None
    """Everything else that is known."""


class MarkView(Message):
    """The angles as a mark of the swing was passed."""

    bend_change_deg: float | None
    hinge_change_deg: float | None
    shaft_pitch_deg: float | None
    face_twist_deg: float | None
    pitch_per_bend: float | None = None
    """Degrees of shaft pitch for one degree more bend, all else held; negative: bowing flattens."""
    bend_deg: float | None = None
    roll_change_deg: float | None = None
    butt_line_m: float | None = None
    """Where the shaft line, carried past the butt, meets the ground, from the ball line: + inside, toward the player."""
    butt_line_sd_m: float | None = None
    """One standard deviation of it."""


class RepMessage(Message):
    """A swing was completed."""

    type: Literal["rep"] = "rep"
    index: int
    t_s: float
    verdict: Verdict
    worst_deg: float | None
    """The drill's quantity at its worst; null where it is not in degrees."""
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
    flags: list[RepFlag] = Field(default=[])
    """What is particular about it."""
    cued: bool = True
    """Whether the cue was allowed to sound."""
    testing: bool = False
    """It was a rep of a test."""
    drill: str = ""
    """Name of the drill it was judged by."""
    quantity: Quantity = Quantity.BEND_CHANGE
    worst: float | None = None
    """As `worst_deg`, in the quantity's own unit, whichever it is."""
    second: JudgedView | None = None
    """How it stood to the second drill."""
    arm_length_deg: float | None = None
    """Swing length at the top: lead forearm from address to top."""
    shaft_length_deg: float | None = None
    """Shaft at the top, past level (+) or short of it (-)."""
    paused: bool = False
    """Swung in a pause: it was not cued and counts for no block."""


class SensorsMessage(Message):
    """Health of all sensors, about twice a second and at each change."""

    type: Literal["sensors"] = "sensors"
    sensors: list[SensorView]
    tape: TapeView | None = None
    """The recording, if one is made."""


class StandingView(Message):
    """How both sensors lie while the golfer is led through the fit: whether a move is taken up."""

    forearm_still_s: float
    """For how long it has been still, up to about a second."""
    club_still_s: float
    lies: bool
    """Both lie on something: no hand is so still."""
    arm_deg: float | None
    """Inclination of the forearm, whichever end is up; null before the move that shows its axis."""
    shaft_deg: float | None
    """The same of the shaft."""


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
    cue_error_deg: float | None = None
    """The error that the cue sounds: more than `error_deg` when it is begun early; null: the same."""
    since_rest_s: float | None
    bend_change_sd_deg: float | None = None
    """One standard deviation of `bend_change_deg`; null where that is."""
    shaft_pitch_sd_deg: float | None = None
    """The same of `shaft_pitch_deg`."""
    standing: StandingView | None = None
    """Live, until the moves that a fit needs are in."""


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


class DrillMessage(Message):
    """Another drill is in force, or the player is a rep further in it."""

    type: Literal["drill"] = "drill"
    drill: DrillView
    course: CourseView | None
    """Null for a drill without blocks: every rep is cued."""
    second: DrillView | None = None
    """Judged beside it, without a sound of its own."""
    look_ahead_ms: int = 0
    """How much early the cue is begun."""
    paused: bool = False
    """The player has paused: nothing sounds, and reps count for no block."""


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
    course: CourseView | None = None
    second: DrillView | None = None
    """A drill that is judged beside the one in force."""
    drills: list[DrillChoice] = Field(default=[])
    """What can be chosen with a `drill` message."""
    look_ahead_ms: int = 0
    paused: bool = False
    fit: FitView
    sensors: list[SensorView]
    frame: FrameMessage | None
    reps: list[RepMessage]
    """The latest reps, oldest first, at most twelve."""
    recording: str | None
    """Where this practice is being recorded, if it is."""
    choosing: ChoosingView | None = None
    """Null where sensors cannot be chosen: in a recording."""
    bay: BayRef | None = None
    """Which practice this is; null from a service of before there were several."""
    control: Holder = "student"
    marks: list[RepMarkMessage] = Field(default=[])
    """Reps that are marked, and how; at most the newest hundred."""
    notes: list[NoteMessage] = Field(default=[])
    """The newest fifty, oldest first."""
    said: list[SaidMessage] = Field(default=[])
    """The newest eight, oldest first."""
    replay: ReplayView | None = None
    """How the recording is being played, where it can be steered; null for live data. Its timeline follows the hello."""


ServerMessage = Annotated[
    HelloMessage
    | FrameMessage
    | PhaseMessage
    | CueMessage
    | SignalMessage
    | RepMessage
    | DrillMessage
    | DrillsMessage
    | DrillFormMessage
    | TriedMessage
    | SensorsMessage
    | ChoosingMessage
    | FitMessage
    | ProblemMessage
    | EndMessage
    | ControlMessage
    | RepMarkMessage
    | NoteMessage
    | SaidMessage
    | ReplayMessage
    | ReplayTimelineMessage
    | PongMessage,
    Field(discriminator="type"),
]


SERVER_MESSAGE: TypeAdapter[ServerMessage] = TypeAdapter(ServerMessage)
