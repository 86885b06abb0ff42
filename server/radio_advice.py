"""What to do when the radio of this computer cannot be used: the way out differs from system to system."""

from __future__ import annotations

import sys
from typing import Final

from sensors.events import LinkReason

_OFF: Final = "Bluetooth is switched off on this computer."
_NONE: Final = "This computer has no Bluetooth that works."
_SERVICE: Final = "The Bluetooth service of this computer is not running."
_STUCK: Final = "Bluetooth of this computer is on and yet does not search for sensors."
_DENIED: Final = "This computer does not let Pitchbend use Bluetooth."

_WAYS_OUT: Final[dict[str, dict[LinkReason, str]]] = {
    "linux": {
        LinkReason.ADAPTER_OFF: (
            "Switch it on in the system's settings, or with `bluetoothctl power on`; if that is refused, "
            "`rfkill unblock bluetooth` first."
        ),
        LinkReason.NO_ADAPTER: "Plug in a Bluetooth adapter; `bluetoothctl list` shows it once it works.",
        LinkReason.SERVICE_OFF: (
            "Start it with `sudo systemctl start bluetooth`; if there is none, install BlueZ (Debian, Ubuntu: "
            "`sudo apt install bluez`)."
        ),
        LinkReason.ADAPTER_STUCK: (
            "Switch it off and on, with `bluetoothctl power off` and `bluetoothctl power on`; pull a plugged-in adapter "
            "out and plug it in again. If that does not help, restart the computer."
        ),
        LinkReason.PERMISSION_DENIED: (
            "Add yourself to its users with `sudo usermod -aG bluetooth $USER`, log out and in again, "
            "and start Pitchbend anew."
        ),
    },
    "darwin": {
        LinkReason.ADAPTER_OFF: "Switch it on in the Control Centre or in System Settings, Bluetooth.",
        LinkReason.NO_ADAPTER: "Restart the computer; a Mac has Bluetooth built in, but not every virtual machine does.",
        LinkReason.SERVICE_OFF: "Switch Bluetooth off and on in the Control Centre, or restart the computer.",
        LinkReason.ADAPTER_STUCK: "Switch Bluetooth off and on in the Control Centre; if that does not help, restart the Mac.",
        LinkReason.PERMISSION_DENIED: (
            "In System Settings, Privacy & Security, Bluetooth, allow the program from which you start Pitchbend "
            "(Terminal, for example), then start Pitchbend anew."
        ),
    },
    "win32": {
        LinkReason.ADAPTER_OFF: "Switch it on in Settings, Bluetooth & devices, and see that airplane mode is off.",
        LinkReason.NO_ADAPTER: "Plug in a Bluetooth adapter, and look in the Device Manager whether it works.",
        LinkReason.SERVICE_OFF: "Start the Bluetooth Support Service in the Services window, or restart the computer.",
        LinkReason.ADAPTER_STUCK: (
            "Switch it off and on in Settings, Bluetooth & devices; if that does not help, restart the computer."
        ),
        LinkReason.PERMISSION_DENIED: (
            "In Settings, Privacy & security, Radios, let desktop apps control radios, then start Pitchbend anew."
        ),
    },
}
_FACTS: Final = {
    LinkReason.ADAPTER_OFF: _OFF,
    LinkReason.NO_ADAPTER: _NONE,
    LinkReason.SERVICE_OFF: _SERVICE,
    LinkReason.PERMISSION_DENIED: _DENIED,
    LinkReason.ADAPTER_STUCK: _STUCK,
}


def machine_advice(reason: LinkReason, platform: str = sys.platform) -> str:
    """Say what is wrong with this computer's radio and how to put it right there. KeyError for any other reason."""
    ways_out = _WAYS_OUT.get(platform, _WAYS_OUT["linux"])
    return f"{_FACTS[reason]} {ways_out[reason]}"
