"""Packets to check a profile against: a recording, or a text file of `arrival_seconds hex` lines."""

from __future__ import annotations

import codecs
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Final

from sensors.errors import SensorsError
from sensors.events import RawPacket, SensorInfo
from sensors.ids import SensorId
from sensors.profiles.base import Profile
from sensors.profiles.load import load_profile, parse_name
from sensors.record.reader import ReadReport, read_events
from sensors.record.salvage import MAGIC

TEXT_SENSOR: Final = SensorId("capture")
_SEPARATORS: Final = re.compile(r"[\s:,-]+")
_LARGEST_BYTES: Final = 512 * 2**20


@dataclass(frozen=True, slots=True, kw_only=True)
class Capture:
    """What a sensor sent, or several."""

    packets: Mapping[SensorId, list[RawPacket]]
    """Of each sensor, in order of arrival."""
    damage: ReadReport
    """What of a recording could not be read."""
    settings: Mapping[SensorId, Mapping[str, float]] = field(default_factory=dict)
    """Of a recording: with which settings each sensor spoke the profile."""
    last_line_cut_off: bool = False
    """Of a text file: it was no line yet, and is passed over."""


def as_spoken(profile: Profile, settings: Mapping[str, float]) -> Profile:
    """Give the profile with the settings that a sensor had, unless it was asked for with some. Raises `ProfileError`."""
    if profile.settings != profile.choices.own or not settings:
        return profile
    return load_profile(profile.text, f"{profile.name}.toml", settings)


class CaptureError(SensorsError):
    """The capture cannot be used; `problem` says what is wrong in line `line`, or with the whole file where that is 0."""

    def __init__(self, path: Path, line: int, problem: str) -> None:
        self.path = path
        self.line = line
        self.problem = problem
        super().__init__(f"{path}{f':{line}' if line else ''}: {problem}")


def read_capture(path: Path, profile: Profile) -> Capture:
    """Read one.

    Of a recording, those of sensors that spoke this profile when it was made; of all of them if none did. Raises `CaptureError`
    and, for a recording, `RecordingError`.
    """
    try:
        with path.open("rb") as file:
            head = file.read(len(MAGIC))
        if head == MAGIC:
            return _recorded(path, profile)
        if path.stat().st_size > _LARGEST_BYTES:
            raise CaptureError(path, 0, f"it is larger than {_LARGEST_BYTES // 2**20} MB: cut it down to some minutes")
        text = _text_of(path.read_bytes())
    except OSError as error:
        raise CaptureError(path, 0, f"it cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise CaptureError(path, 0, "it is neither a recording nor a text file") from error
    return _of_text(text, path)


def _text_of(data: bytes) -> str:
    """Decode; some shells write 16 bits a letter into a file."""
    wide = data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    return data.decode("utf-16" if wide else "utf-8-sig")


def _of_text(text: str, path: Path) -> Capture:
    lines = text.splitlines()
    try:
        return Capture(packets={TEXT_SENSOR: packets_of_text(lines, path)}, damage=ReadReport())
    except CaptureError as error:
        if error.line < len(lines) or text.endswith(("\n", "\r")):
            raise
        return Capture(
            packets={TEXT_SENSOR: packets_of_text(lines[:-1], path)}, damage=ReadReport(), last_line_cut_off=True
        )


def packets_of_text(lines: list[str], path: Path) -> list[RawPacket]:
    """Read `arrival_seconds hex` lines; empty lines and those that begin with # are passed over. Raises `CaptureError`."""
    packets: list[RawPacket] = []
    for number, line in enumerate(lines, 1):
        if not line.strip() or line.lstrip().startswith("#"):
            continue
        when, _, rest = line.strip().partition(" ") if "\t" not in line else line.strip().partition("\t")
        try:
            arrival_s = float(when)
            payload = bytes.fromhex(_SEPARATORS.sub("", rest).removeprefix("0x"))
        except ValueError:
            raise CaptureError(path, number, "a line must be seconds, a space, and the bytes in hexadecimal") from None
        if not math.isfinite(arrival_s) or abs(arrival_s) > 1e10 or not payload:
            raise CaptureError(path, number, "a line must be seconds, a space, and the bytes in hexadecimal")
        arrival_ns = round(arrival_s * 1e9)
        if packets and arrival_ns < packets[-1].arrival_ns:
            raise CaptureError(
                path, number, "it arrived before the line above it: lines must stand in order of arrival"
            )
        packets.append(RawPacket(arrival_ns=arrival_ns, sensor=TEXT_SENSOR, payload=payload))
    if not packets:
        raise CaptureError(
            path, 0, "it holds no notifications; a line is seconds, a space, and the bytes in hexadecimal"
        )
    return packets


def _recorded(path: Path, profile: Profile) -> Capture:
    damage = ReadReport()
    name = parse_name(profile.name)[0]
    packets: dict[SensorId, list[RawPacket]] = {}
    speakers: dict[SensorId, dict[str, float]] = {}
    for event in read_events(path, report=damage):
        if isinstance(event, RawPacket):
            packets.setdefault(event.sensor, []).append(event)
        elif isinstance(event, SensorInfo):
            spoken, settings = parse_name(event.profile)
            if spoken == name:
                speakers[event.sensor] = settings or {}
    if not packets:
        raise CaptureError(path, 0, "this recording holds nothing that a sensor sent")
    chosen = {sensor: found for sensor, found in packets.items() if not speakers or sensor in speakers}
    if not chosen:
        raise CaptureError(path, 0, f"this recording holds nothing of the sensors in it that speak {name}")
    return Capture(packets=chosen, damage=damage, settings=speakers)
