"""How events lie in a recording: channel names, metadata, and each event as JSON. `recordings/README.md` is the spec.

The steady host stamp `arrival_ns` is a message's *publish time*, the wall clock its *log time*: any MCAP tool shows
the day and hour, and reading restores the stamp exactly. Both stand inside the chunk, under its checksum.
"""

from __future__ import annotations

from dataclasses import MISSING, Field, fields
from typing import Any, Final, get_type_hints

import orjson

from sensors.events import (
    BatteryLevel,
    ClockJump,
    DrillSet,
    EventWithoutPayload,
    HabitSet,
    LinkChange,
    LookAheadSet,
    MessageSaid,
    MoveEnd,
    MoveStart,
    NoteWritten,
    PauseSet,
    PlayerSet,
    RawPacket,
    RecordingResumed,
    RepMarked,
    SecondDrillSet,
    SensorInfo,
    SensorPlaced,
    SignalStrength,
    SourceEvent,
    TrimSet,
)
from sensors.record.values import BadValue, schema_of, value_of

FORMAT_VERSION: Final = 1
MCAP_PROFILE: Final = "pitchbend"
"""Stands in the MCAP header: this is how a recording of ours is told from any other MCAP file."""
METADATA_NAME: Final = "pitchbend"
NOTES_NAME: Final = "notes"
CONTINUES_NOTE: Final = "continues"
"""Note of a file that goes on where another stopped: the name of the first one."""
RENEWS: Final = "renews"
"""In a channel's metadata: ids, with commas, of earlier channels that said the same."""

EVENTS_TOPIC: Final = "/events"
EVENTS_ENCODING: Final = "json"
EVENTS_SCHEMA_NAME: Final = "pitchbend.event"
PACKETS_TOPIC: Final = "/packets/"
PACKETS_ENCODING: Final = "pitchbend-packet"
"""The notification's bytes and nothing else; the channel's metadata names the device profile that reads them."""

_TYPE_NAMES: Final[dict[type[EventWithoutPayload], str]] = {
    SensorInfo: "sensor_info",
    SensorPlaced: "sensor_placed",
    LinkChange: "link_change",
    BatteryLevel: "battery_level",
    MoveStart: "move_start",
    MoveEnd: "move_end",
    PlayerSet: "player_set",
    TrimSet: "trim_set",
    HabitSet: "habit_set",
    DrillSet: "drill_set",
    SecondDrillSet: "second_drill_set",
    LookAheadSet: "look_ahead_set",
    PauseSet: "pause_set",
    RepMarked: "rep_marked",
    NoteWritten: "note_written",
    MessageSaid: "message_said",
    SignalStrength: "signal_strength",
    ClockJump: "clock_jump",
    RecordingResumed: "recording_resumed",
}
_TYPES: Final = {name: cls for cls, name in _TYPE_NAMES.items()}


class UnknownEvent(Exception):
    """An event of a type that this program does not know: skipped and counted, as a later version may add some."""


class MalformedEvent(Exception):
    """JSON that does not fit its event: skipped and counted."""


def clean_text(text: str) -> str:
    """Replace what UTF-8 cannot hold: a name typed in a foreign encoding must not stop a recording."""
    return text.encode("utf-8", "replace").decode("utf-8")


def _fields_of(cls: type[SourceEvent]) -> list[tuple[Field[Any], type]]:
    """Fields beside the stamp, each with the plain type it has in JSON (`str`, `int`, `float`, a `StrEnum` or `Trim`)."""
    hints = get_type_hints(cls)
    return [(f, getattr(hints[f.name], "__supertype__", hints[f.name])) for f in fields(cls) if f.name != "arrival_ns"]


_FIELDS: Final = {cls: _fields_of(cls) for cls in _TYPE_NAMES}


def event_to_json(event: EventWithoutPayload) -> bytes:
    """Write an event without its stamp, which the message itself carries."""
    values = {f.name: getattr(event, f.name) for f, _ in _FIELDS[type(event)]}
    clean = {name: clean_text(value) if isinstance(value, str) else value for name, value in values.items()}
    return orjson.dumps({"type": _TYPE_NAMES[type(event)], **clean})


def event_from_json(data: bytes, arrival_ns: int) -> EventWithoutPayload:
    """Read an event back. Raises `UnknownEvent` or `MalformedEvent`. Fields it does not know are passed over."""
    try:
        values = orjson.loads(data)
    except orjson.JSONDecodeError as error:
        raise MalformedEvent(str(error)) from error
    if not isinstance(values, dict):
        raise MalformedEvent("not an object")
    type_name = values.get("type")
    cls = _TYPES.get(type_name) if isinstance(type_name, str) else None
    if cls is None:
        raise UnknownEvent(str(type_name))
    known: dict[str, Any] = {}
    for field, json_type in _FIELDS[cls]:
        if field.name in values:
            try:
                known[field.name] = value_of(values[field.name], json_type)
            except BadValue as error:
                raise MalformedEvent(f"{field.name} is {error}") from error
        elif field.default is MISSING:
            raise MalformedEvent(f"{field.name} is missing")
    return cls(arrival_ns=arrival_ns, **known)


def events_schema() -> dict[str, Any]:
    """JSON Schema of the events channel, from the event classes themselves."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": EVENTS_SCHEMA_NAME,
        "type": "object",
        "oneOf": [_schema_of(cls, name) for cls, name in _TYPE_NAMES.items()],
    }


def _schema_of(cls: type[EventWithoutPayload], name: str) -> dict[str, Any]:
    properties: dict[str, Any] = {"type": {"const": name}}
    required = ["type"]
    for field, json_type in _FIELDS[cls]:
        properties[field.name] = schema_of(json_type)
        if field.default is MISSING:
            required.append(field.name)
    return {"type": "object", "properties": properties, "required": required}


def packet_topic(packet: RawPacket) -> str:
    """Topic of a sensor's packets."""
    return PACKETS_TOPIC + clean_text(packet.sensor)


def packet_metadata(packet: RawPacket, info: SensorInfo | None) -> dict[str, str]:
    """What the channel of a sensor's packets says about it: all of its introduction, when it has made one."""
    if info is None:
        return {"sensor": clean_text(packet.sensor)}
    return {f.name: clean_text(getattr(info, f.name)) for f, _ in _FIELDS[SensorInfo]}
