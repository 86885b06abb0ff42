"""What is written to a sensor, as a template: bytes in hexadecimal, packed settings, text.

01 63 '/Meas/IMU6/{rate_hz}'         two bytes, then text with a setting in decimals
03 {rate_hz:u16}                     a byte, then a setting packed as two bytes
"""

from __future__ import annotations

import re
import struct
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

SETTING_NAMES: Final = ("rate_hz", "gyr_range_deg_s", "acc_range_g")
"""What a template may put in."""
NUMBER_CODES: Final[dict[str, str]] = {
    "u8": "B", "i8": "b", "u16": "H", "i16": "h", "u32": "I", "i32": "i", "u64": "Q", "i64": "q", "f32": "f", "f64": "d",
}  # fmt: skip
"""Number types of profiles, and their codes in `struct`; numpy takes the same letters."""

INTEGER_BITS: Final = {"u8": 8, "u16": 16, "u32": 32, "u64": 64, "i8": 8, "i16": 16, "i32": 32, "i64": 64}

_PART: Final = re.compile(r"\s+|(?P<hex>[0-9a-fA-F]{2})|\{(?P<name>\w+):(?P<type>\w+)\}|'(?P<text>[^']*)'")
_IN_TEXT: Final = re.compile(r"\{(\w+)\}")
_LONGEST_BYTES: Final = 512  # the longest attribute value (Bluetooth Core specification, Vol 3 Part F 3.2.9)


class BadTemplate(ValueError):
    """The template cannot be read; the message says why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Write:
    """One write to one characteristic."""

    characteristic_uuid: str
    template: str
    response: bool
    """Wait until the sensor has taken it, or not."""
    byte_order: str
    """As `struct` writes it: `<` or `>`."""

    @property
    def settings(self) -> frozenset[str]:
        """Names of the settings it puts in."""
        return frozenset(
            name for part in _PART.finditer(self.template)
            for name in ([part["name"]] if part["name"] else _IN_TEXT.findall(part["text"] or ""))
        )  # fmt: skip

    def value(self, settings: Mapping[str, float]) -> bytes:
        """Give the bytes; raises `BadTemplate` when the template is none or a setting does not fit its type."""
        out, position = bytearray(), 0
        while position < len(self.template):
            part = _PART.match(self.template, position)
            if part is None:
                raise BadTemplate(
                    f"{self.template[position : position + 12]!r} is not part of a write; allowed: bytes in hexadecimal such as "
                    "01 a0, {rate_hz:u16} for a packed setting, 'text {rate_hz}' for text"
                )
            position = part.end()
            if part["hex"]:
                out += bytes.fromhex(part["hex"])
            elif part["name"]:
                out += self._packed(part["name"], part["type"], settings)
            elif part["text"] is not None:
                out += self._text(part["text"], settings)
        if not 1 <= len(out) <= _LONGEST_BYTES:
            raise BadTemplate(f"a write is 1 to {_LONGEST_BYTES} bytes long, not {len(out)}")
        return bytes(out)

    def _packed(self, name: str, number_type: str, settings: Mapping[str, float]) -> bytes:
        value = _setting(name, settings)
        code = NUMBER_CODES.get(number_type)
        if code is None:
            raise BadTemplate(f"there is no number type {number_type!r}; allowed: {', '.join(NUMBER_CODES)}")
        is_float = number_type.startswith("f")
        if not is_float and value != int(value):
            raise BadTemplate(f"{name} is {value:g}, which is no whole number and does not fit {number_type}")
        try:
            return struct.pack(self.byte_order + code, value if is_float else int(value))
        except (struct.error, OverflowError):
            raise BadTemplate(f"{name} is {value:g}, which does not fit {number_type}") from None

    @staticmethod
    def _text(text: str, settings: Mapping[str, float]) -> bytes:
        if not text.isascii():
            raise BadTemplate(f"{text!r} is not plain ASCII text")
        return _IN_TEXT.sub(lambda found: f"{_setting(found[1], settings):g}", text).encode("ascii")


def _setting(name: str, settings: Mapping[str, float]) -> float:
    if name not in settings:
        raise BadTemplate(f"there is no setting {name!r}; allowed: {', '.join(SETTING_NAMES)}")
    return settings[name]
