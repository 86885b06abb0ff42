"""The one place that turns enums and errors into sentences for the person: whose fault it is, and what to do.

Everything inside carries data; nothing here looks at the text of an error. Each function gives "" when all is well.
"""

from __future__ import annotations

from typing import Final, assert_never

from fusion.outputs.instant import Doubt
from fusion.outputs.rep import Verdict
from sensors.errors import ProfileError, RadioError, RecorderError, RecordingError, SensorsError, UnknownProfile
from sensors.events import ClockJump, ClockJumpCause, LinkReason, LinkState
from server.disk_advice import disk_advice
from server.radio_advice import machine_advice

_RETRIED: Final = frozenset(
    {
        LinkReason.NOT_FOUND,
        LinkReason.DROPPED,
        LinkReason.OUT_OF_RANGE,
        LinkReason.SWITCHED_OFF,
        LinkReason.BATTERY_EMPTY,
        LinkReason.SILENT,
        LinkReason.CONNECT_FAILED,
        LinkReason.IN_USE,
        LinkReason.ADAPTER_OFF,
        LinkReason.NO_ADAPTER,
        LinkReason.SERVICE_OFF,
        LinkReason.ADAPTER_STUCK,
    }
)
"""Nothing needs to be started again once the person has put these right."""


def link_advice(state: LinkState, reason: LinkReason) -> str:
    """What to do about the link to one sensor."""
    if reason is LinkReason.NONE:
        return _state_advice(state)
    text = reason_advice(reason)
    if state in {LinkState.SEARCHING, LinkState.CONNECTING, LinkState.LOST} and reason in _RETRIED:
        return text + " Pitchbend goes on by itself."
    return text


def _state_advice(state: LinkState) -> str:
    match state:
        case LinkState.SEARCHING:
            return "Looking for this sensor. Switch it on and keep it near."
        case LinkState.LOST:
            return "The link to this sensor went down. Keep it near: Pitchbend is connecting again by itself."
        case LinkState.STOPPED:
            return "This sensor was stopped. Start the practice again to use it."
        case LinkState.CONNECTING | LinkState.STREAMING:
            return ""
        case _:
            assert_never(state)


def reason_advice(reason: LinkReason) -> str:  # noqa: C901, PLR0911, PLR0912  # a table: one case a member, checked to be complete
    """Say why a link is not up, and what to do."""
    match reason:
        case LinkReason.NONE:
            return ""
        case LinkReason.NOT_FOUND:
            return (
                "The sensor is not in sight. Switch it on, check its battery and bring it near. "
                "If another program or phone is connected to it, close that."
            )
        case LinkReason.DROPPED:
            return "The link to the sensor broke off. Bring it near and see that it is on and charged."
        case LinkReason.OUT_OF_RANGE:
            return (
                "The sensor is out of range: it was heard only weakly. Come nearer, within a few metres, "
                "and keep bodies and bags from between it and this computer."
            )
        case LinkReason.SWITCHED_OFF:
            return "The sensor ended the link itself. If it was switched off, switch it on again."
        case LinkReason.BATTERY_EMPTY:
            return "The sensor's battery was nearly empty, and it has gone. Charge or change the battery."
        case LinkReason.SILENT:
            return "The sensor is connected but sends nothing. Switch it off and on again."
        case LinkReason.CONNECT_FAILED:
            return (
                "The sensor was seen but does not answer. Switch it off and on, "
                "and make sure that no other program or phone is using it."
            )
        case LinkReason.WRONG_DEVICE:
            return (
                "This device is not a sensor that Pitchbend can read. Choose another one: Other sensors on the page, "
                "or `pitchbend live --choose`; `pitchbend scan` lists what is in the air."
            )
        case LinkReason.IN_USE:
            return (
                "Another program on this computer is using this sensor, perhaps a second Pitchbend. "
                "Close it there, or choose another sensor."
            )
        case (
            LinkReason.ADAPTER_OFF
            | LinkReason.NO_ADAPTER
            | LinkReason.SERVICE_OFF
            | LinkReason.PERMISSION_DENIED
            | LinkReason.ADAPTER_STUCK
        ):
            return machine_advice(reason)
        case LinkReason.NO_BLINK:
            return "Sensors of that kind cannot blink. Move it instead."
        case LinkReason.END_OF_RECORDING:
            return "The recording is over."
        case _:
            assert_never(reason)


_RECORDED: Final = {
    Doubt.NOT_FITTED: "No angles yet: the golfer in this recording is still making the fit moves.",
    Doubt.NO_ADDRESS: "Between swings: angles count from the next still moment over the ball.",
    Doubt.SENSOR_MISSING: "Only one of the two sensors was heard here.",
    Doubt.GAP: "Some of this swing did not reach the computer. The next address starts afresh.",
    Doubt.OUT_OF_RANGE: "The wrist angle is more than a wrist can do: a sensor had slipped or the grip had changed.",
    Doubt.SENSOR_TURNED: "A sensor no longer sat as it did at the fit.",
}
"""In a replay the golfer cannot be told to do anything."""


def doubt_advice(doubt: Doubt, *, replayed: bool) -> str:  # noqa: C901, PLR0911  # a table, as above
    """Why angles are absent now."""
    if replayed and doubt in _RECORDED:
        return _RECORDED[doubt]
    match doubt:
        case Doubt.NONE:
            return ""
        case Doubt.NOT_FITTED:
            return "No angles yet: make the fit moves first, so that Pitchbend knows how the sensors sit on you."
        case Doubt.NO_ADDRESS:
            return "Stand to the ball and be still for half a second: each swing is measured from there."
        case Doubt.SENSOR_MISSING:
            return "Only one of the two sensors is heard. Check that the other is on, charged and near."
        case Doubt.GAP:
            return "Some of this swing did not reach the computer. Keep it within a few metres; the next address starts afresh."
        case Doubt.SATURATED:
            return (
                "That motion was faster than the sensor can measure. Nothing is broken; the next address starts afresh."
            )
        case Doubt.OUT_OF_RANGE:
            return (
                "The wrist angle is more than a wrist can do: a sensor slipped or the grip changed. "
                "Tighten the straps and make the fit moves again."
            )
        case Doubt.SENSOR_TURNED:
            return "A sensor no longer sits as it did at the fit. Turn it back, or fit it again."
        case Doubt.FORESHORTENED:
            return "Shaft pitch is left out while the shaft points along the line of view. It comes back by itself."
        case _:
            assert_never(doubt)


def rep_advice(verdict: Verdict, doubt: Doubt, *, replayed: bool) -> str:
    """Why a rep was not judged."""
    if verdict is not Verdict.UNKNOWN:
        return ""
    if doubt is Doubt.NONE:
        return "Not judged: the drill's angle was missing for most of its part of the swing. Just swing again."
    return "Not judged. " + doubt_advice(doubt, replayed=replayed)


def error_sentence(error: SensorsError) -> str:
    """Say what failed, in a whole sentence for a terminal: nothing goes on after it."""
    match error:
        case RecordingError():
            return f"{error.path} cannot be played: {error.problem}."
        case RecorderError():
            return f"Recording to {error.path} failed: {disk_advice(error.cause)}."
        case RadioError():
            return reason_advice(error.reason) or "Bluetooth stopped working on this computer."
        case UnknownProfile():
            return (
                f"This version of Pitchbend knows no kind of sensor called {error.profile}, only {', '.join(error.known)}. "
                "If a recording has it, a newer version of Pitchbend may know it."
            )
        case ProfileError():
            return f"The sensor profile cannot be used. {error}."
        case _:
            return f"{error}."


def source_advice(error: SensorsError) -> str:
    """Tell the page that the source itself failed: nothing more comes until the program is started again."""
    return f"The practice has ended. {error_sentence(error)} Then start Pitchbend again."


def clock_advice(jump: ClockJump) -> str:
    """Tell that the computer's clocks parted; nothing is lost by it."""
    if jump.cause is ClockJumpCause.SLEEP:
        return (
            f"This computer slept for {_span(jump.seconds)}. The practice and its recording go on; "
            "stand still at the ball before the next swing. Keep the lid open and switch its sleep off while you practise."
        )
    way = "forward" if jump.seconds > 0.0 else "back"
    return (
        f"The clock of this computer was set {way} by {_span(jump.seconds)}. The recording keeps the time of day "
        "that it began with and notes the change; nothing is lost."
    )


def _span(seconds: float) -> str:
    whole = abs(round(seconds))
    if whole < 120:
        return f"{whole} s"
    return f"{whole // 60} min" if whole < 7200 else f"{whole // 3600} h {whole % 3600 // 60} min"


def bad_message_advice() -> str:
    """Tell a client that it sent what the contract does not allow."""
    return (
        "The page sent something that Pitchbend does not understand, so it was left out. "
        "Reload the page; if this comes again, the page and the program are of different versions."
    )


def club_refused_advice(*, over: bool) -> str:
    """Say why club and lengths cannot be chosen now."""
    if over:
        return "The practice is over; there is nothing left to choose club or lengths for."
    return "This is a recorded practice; its club and lengths are those it was swung with."


def viewers_watch_advice() -> str:
    """Tell a viewer that looking on is all there is."""
    return (
        "You joined to watch, so nothing can be changed from this page. "
        "To practise or to coach, ask for that link and open it here."
    )


def not_begun_advice() -> str:
    """Say why nothing can be marked, noted or said yet."""
    return "The practice has not begun yet. Try again once the first reading has come."


def drill_refused_advice(*, over: bool) -> str:
    """Say why a drill cannot be chosen now."""
    if over:
        return "The practice is over, so no drill can be chosen. Start Pitchbend again."
    return "There is no drill of that name. Load the page again to see which there are."


def move_refused_advice(*, over: bool) -> str:
    """Say why a fit pose cannot be taken now."""
    if over:
        return "The practice is over, so no pose can be taken. Start Pitchbend again."
    return "This is a recorded practice, and its fit moves are part of it. To make your own, start `pitchbend live`."
