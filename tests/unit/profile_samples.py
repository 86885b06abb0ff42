"""Made-up kinds of sensor for the tests of decoders, each with something that the profiles of real boards do not have."""

from __future__ import annotations

from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.load import load_profile

SENSOR = SensorId("a")

_REST = """
[bluetooth]
service = "aaaa"
data = "bbbb"

[rate]
hz = 100

[gyroscope]
range_deg_s = 2000
full_scale = 32768
saturated = [-32768, 32767]
{axes}

[accelerometer]
range_g = 16
full_scale = 32768
saturated = [-32768, 32767]
{axes}
"""


def profile_of_text(name, text, axes=""):
    about = f'[profile]\nform = 1\nname = "{name}"\ntitle = "Test"\n'
    return load_profile(about + _REST.format(axes=axes) + text, f"{name}.toml")


PER_SAMPLE = profile_of_text(
    "per-sample",
    """
[packet]
endian = "big"
fields = [{ name = "kind", type = "u8", min = 7, max = 8 }]

[samples]
count = "rest"
most = 20
fields = [
  { name = "tick", type = "u16" },
  { name = "acc", type = "i16", n = 3 },
  { name = "gyr", type = "i16", n = 3 },
]

[clock]
kind = "per_sample"
field = "tick"
unit = "ms"
""",
    axes='axes = ["-y", "+x", "+z"]',
)
"""Big-endian, stamps of 16 bits in every sample, axes turned."""

COUNTED_ONLY = profile_of_text(
    "counted-only",
    """
[packet]
fields = [{ name = "number", type = "u8" }]

[samples]
count = 2
fields = [{ name = "gyr", type = "i16", n = 3 }, { name = "acc", type = "i16", n = 3 }]

[sequence]
field = "number"

[clock]
kind = "none"
""",
)
"""A counter of 8 bits and no clock."""

IN_PARTS = profile_of_text(
    "in-parts",
    """
[packet]
ignore = ["ff"]
fields = [
  { name = "kind", type = "u8", equals = 1 },
  { name = "count", type = "u8" },
  { name = "clock", type = "u16" },
]

[samples]
count = "count"
most = 9
fields = [{ name = "gyr", type = "i16", n = 3 }, { name = "acc", type = "i16", n = 3 }]

[split]
continues = "02"
most_parts = 120

[clock]
kind = "per_packet_last"
field = "clock"
unit = "ms"
""",
)
"""No counter, a clock of 16 bits, messages in any number of parts."""


def changed(text, old, new):
    """A text with one thing in it another, which must be there."""
    assert old in text
    return text.replace(old, new, 1)


def packet(payload, arrival_s=0.0):
    return RawPacket(arrival_ns=round(arrival_s * 1e9), sensor=SENSOR, payload=payload)
