"""What the times of a sensor without a clock are worth: the figures of docs/adding-a-sensor.md.

    python -m tests.bench.bench_no_clock

Notifications of one sample each arrive at connection events; some are held back to a later one, some never come. A report,
never a pass or fail.
"""

from __future__ import annotations

import numpy as np

from sensors.decode.decoder import decoder_for
from sensors.events import RawPacket
from sensors.ids import SensorId
from sensors.profiles.registry import profile_named
from sensors.readings import Reading

SECONDS, SETTLED_S, SPAN_S = 60.0, 10.0, 0.25


def report(rate_hz: int, off: float, *, interval_s: float = 0.03, held_back: float = 0.05, lost: float = 0.0) -> None:
    rng = np.random.default_rng(0)
    decoder = decoder_for(profile_named("thingy-52" if rate_hz == 100 else f"thingy-52@rate_hz={rate_hz}"))
    taken_s = np.arange(int(SECONDS * rate_hz * (1 + off))) / (rate_hz * (1 + off))
    events = np.ceil((taken_s + 0.001) / interval_s) + rng.geometric(1 - held_back, len(taken_s)) - 1
    arrivals_s = np.maximum.accumulate(events * interval_s + rng.uniform(0.0004, 0.0012, len(taken_s)))
    times, true = [], []
    for at_s, true_s in zip(arrivals_s, taken_s, strict=True):
        if rng.random() < lost:
            continue
        for item in decoder.push(
            RawPacket(arrival_ns=round(1e9 * (1 + at_s)), sensor=SensorId("x"), payload=bytes(18))
        ):
            if isinstance(item, Reading):
                times.append(item.device_s[-1] - 1)
                true.append(true_s)
    found, meant = np.array(times), np.array(true)
    kept = meant > SETTLED_S
    found, meant = found[kept], meant[kept]
    span = round(SPAN_S * rate_hz)
    stretch = (found[span:] - found[:-span]) / (meant[span:] - meant[:-span]) - 1
    print(
        f"{rate_hz:4d} a second, true rate {off:+.0%}, interval {1e3 * interval_s:.0f} ms, held back {held_back:.0%}, "
        f"lost {lost:.0%}: times {1e3 * (found - meant).std():5.2f} ms, "
        f"quarter seconds {stretch.std():.2%}, worst {np.abs(stretch).max():.1%}"
    )


if __name__ == "__main__":
    for share in (-0.02, -0.01, 0.0, 0.01, 0.02):
        report(100, share)
    report(100, 0.01, interval_s=0.05)
    report(100, 0.01, held_back=0.2)
    report(100, 0.01, lost=0.01)
    report(50, -0.01, lost=0.02)
    report(200, 0.01)
