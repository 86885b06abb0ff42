"""Errors of the sensor layer, and whose fault each is.

    SensorsError
    ├── DecodeError               the device (or the wrong profile for it)
    ├── UnknownProfile            the caller: no such device profile
    ├── ProfileError              whoever wrote the profile file
    ├── RecordingError            the file
    │   ├── NotARecording         not an MCAP file of ours at all
    │   │   └── DamagedHead       nor does its beginning say whose it is; pieces of ours may be in it
    │   └── UnsupportedRecording  made by a newer Pitchbend
    ├── RecorderError             the disk: full, read-only, gone
    └── RadioError                the radio of this machine

They carry data; the sentence for the person is built from it in one place, `server/advice.py`.
"""

from __future__ import annotations

from pathlib import Path

from sensors.events import LinkReason


class SensorsError(Exception):
    """Base of every expected failure in this package."""


class DecodeError(SensorsError):
    """A payload does not fit its profile. Bad payloads are counted and dropped, so this stays inside `sensors`."""

    def __init__(self, profile: str, problem: str, payload: bytes) -> None:
        self.profile = profile
        self.problem = problem
        self.payload = payload
        super().__init__(f"{profile}: {problem} (payload of {len(payload)} bytes)")


class UnknownProfile(SensorsError):
    """No device profile of that name."""

    def __init__(self, profile: str, known: tuple[str, ...]) -> None:
        self.profile = profile
        self.known = known
        super().__init__(f"no sensor profile {profile!r}; known: {', '.join(known)}")


class ProfileError(SensorsError):
    """A device profile cannot be used; `problem` is what is wrong in line `line` of `file`, or with all of it where that is 0."""

    def __init__(self, file: str, line: int, problem: str) -> None:
        self.file = file
        self.line = line
        self.problem = problem
        super().__init__(f"{file}{f':{line}' if line else ''}: {problem}")


class RecordingError(SensorsError):
    """A recording cannot be used; `problem` is a clause, e.g. 'it is empty'."""

    def __init__(self, path: Path, problem: str) -> None:
        self.path = path
        self.problem = problem
        super().__init__(f"{path}: {problem}")


class NotARecording(RecordingError):
    """The file is something else."""


class DamagedHead(NotARecording):
    """The beginning is not that of a recording; whether the rest is, it does not say."""


class UnsupportedRecording(RecordingError):
    """The file's format version is newer than this program."""


class RecorderError(SensorsError):
    """Writing failed; what was written before stays readable."""

    def __init__(self, path: Path, cause: OSError) -> None:
        self.path = path
        self.cause = cause
        super().__init__(f"{path}: {cause.strerror or cause}")


class RadioError(SensorsError):
    """Bluetooth on this machine cannot be used."""

    def __init__(self, reason: LinkReason, detail: str = "") -> None:
        self.reason = reason
        self.detail = detail
        super().__init__(f"bluetooth: {reason.value}{': ' + detail if detail else ''}")
