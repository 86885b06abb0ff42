"""How a command tells a person that something went wrong: one plain sentence, no traceback, exit code 2."""

from __future__ import annotations

import errno
import sys

from sensors.errors import RadioError, RecorderError, RecordingError, SensorsError
from sensors.events import LinkReason


class CommandFailed(Exception):
    """The person can put it right; the message is a sentence that says how."""


def tell(text: str) -> None:
    """Say it on stderr, so that what a command prints stays clean."""
    print(text, file=sys.stderr, flush=True)


def sentence_for(error: SensorsError) -> str:
    """Say whose fault it is and what to do."""
    match error:
        case RecordingError():
            return f"{error.path} cannot be played: {error.problem}."
        case RecorderError():
            return f"Recording to {error.path} failed: {_disk_advice(error.cause)}"
        case RadioError():
            return RADIO_ADVICE.get(
                error.reason, f"Bluetooth does not work here ({error.detail or error.reason.value})."
            )
        case _:
            return f"{error}."


def _disk_advice(cause: OSError) -> str:
    match cause.errno:
        case errno.ENOSPC | errno.EDQUOT | errno.EFBIG:
            return "the disk is full. What was recorded before is kept; free some space, or use --folder."
        case errno.EACCES | errno.EPERM | errno.EROFS:
            return "this folder cannot be written to. Choose another with --folder."
        case errno.ENOENT | errno.ENODEV | errno.EIO | errno.ENXIO:
            return "the folder or its disk is gone. Bring it back, or choose another with --folder."
        case errno.EEXIST | errno.ENOTDIR:
            return "there is already something of that name. Choose another folder with --folder."
        case _:
            return f"{cause.strerror or cause}. Choose another folder with --folder."


RADIO_ADVICE = {
    LinkReason.NO_ADAPTER: "This computer has no working Bluetooth. Plug in an adapter, or start its Bluetooth service.",
    LinkReason.ADAPTER_OFF: "Bluetooth is switched off. Switch it on and try again.",
    LinkReason.PERMISSION_DENIED: "Bluetooth is not allowed here. Allow it in the system's privacy settings and try again.",
    LinkReason.NOT_FOUND: "The sensor was not found. Switch it on, bring it near, and try again.",
    LinkReason.CONNECT_FAILED: "The sensor does not answer. Switch it off and on, and try again.",
    LinkReason.DROPPED: "The sensor went out of reach or off. Bring it near; it is found again by itself.",
    LinkReason.SILENT: "The sensor is connected and says nothing. Switch it off and on.",
    LinkReason.WRONG_DEVICE: "That device is not a sensor that Pitchbend can read.",
}
