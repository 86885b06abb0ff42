"""From source events to blocks on the session clock, for every sensor of a practice. Deterministic: no clock of its own."""

from __future__ import annotations

import numpy as np

from sensors.clock.envelope import EnvelopeClock
from sensors.decode.decoder import decoder_for
from sensors.events import ClockJump, ClockJumpCause, RawPacket, SensorInfo, SourceEvent
from sensors.health import HealthLog, SensorHealth
from sensors.ids import Role, SensorId
from sensors.profiles.registry import profile_of
from sensors.readings import Gap, ImuBlock, Malformed, Reading


class _Stream:
    def __init__(self, info: SensorInfo) -> None:
        self.info = info
        profile = profile_of(info)
        self.decoder = decoder_for(profile)
        self.clock = EnvelopeClock()
        self.last_t_s = -np.inf
        self.filter_delay_s = profile.filter_delay_s
        self.nominal_rate_hz = profile.nominal_rate_hz
        self.shows_loss = profile.shows_loss


def _speaks(info: SensorInfo) -> tuple[Role, str, str]:
    return info.role, info.profile, info.profile_text


class Ingest:
    """Decodes, places on the session clock, and keeps the books. Session time is zero at the first event."""

    def __init__(self) -> None:
        self._streams: dict[SensorId, _Stream] = {}
        self._health = HealthLog()
        self._start_ns: int | None = None
        self.n_strangers = 0
        """Packets of sensors that never introduced themselves: dropped."""

    def role_of(self, sensor: SensorId) -> Role:
        """Where a sensor is worn; raises KeyError for one that has not been introduced."""
        return self._streams[sensor].info.role

    def session_s(self, arrival_ns: int) -> float:
        """Session time of a host stamp."""
        return (arrival_ns - (self._start_ns or 0)) * 1e-9 if self._start_ns is not None else 0.0

    def device_to_session_s(self, sensor: SensorId, device_s: float) -> float:
        """Session time of a sensor's device time, as its clock is known now; KeyError if it has not been introduced."""
        return self._streams[sensor].clock.session_s(device_s)

    def session_to_device_s(self, sensor: SensorId, t_s: float) -> float:
        """Device time of a session time, the inverse of `device_to_session_s`."""
        return self._streams[sensor].clock.device_s(t_s)

    def health(self, now_ns: int) -> tuple[SensorHealth, ...]:
        """How every sensor fares at host time `now_ns`."""
        return self._health.at(now_ns, {sensor: stream.clock.fit for sensor, stream in self._streams.items()})

    def push(self, event: SourceEvent) -> tuple[ImuBlock | Gap, ...]:
        """Take in any event.

        Raises `UnknownProfile` for a sensor that speaks a profile this program lacks, `ProfileError` for one it cannot read.
        """
        if self._start_ns is None:
            self._start_ns = self._health.start_ns = event.arrival_ns
        match event:
            case RawPacket():
                return self._packet(event)
            case SensorInfo():
                known = self._streams.get(event.sensor)
                if known is None or _speaks(known.info) != _speaks(event):
                    known = self._streams[event.sensor] = _Stream(event)
                else:
                    known.decoder.link_again()
                self._health.introduce(event, nominal_rate_hz=known.nominal_rate_hz, shows_loss=known.shows_loss)
            case ClockJump(cause=ClockJumpCause.SLEEP):
                # The stamps' clock stood still while the sensors' ran on: what was learnt of their relation is void.
                for stream in self._streams.values():
                    stream.clock = EnvelopeClock()
            case _:
                self._health.note(event)
        return ()

    def _packet(self, packet: RawPacket) -> tuple[ImuBlock | Gap, ...]:
        stream = self._streams.get(packet.sensor)
        if stream is None:
            self.n_strangers += 1
            return ()
        out: list[ImuBlock | Gap] = []
        n_duplicates = stream.decoder.n_duplicates
        items = stream.decoder.push(packet)
        self._health.count_duplicates(packet.sensor, stream.decoder.n_duplicates - n_duplicates)
        for item in items:
            self._health.count(item)
            match item:
                case Reading():
                    out.append(self._placed(stream, item))
                case Gap():
                    if item.restarted:
                        stream.clock = EnvelopeClock()
                    out.append(item)
                case Malformed():
                    pass
        return tuple(out)

    def _placed(self, stream: _Stream, reading: Reading) -> ImuBlock:
        device_s, clock = reading.device_s, stream.clock
        last_s, arrival_s = float(device_s[-1]), self.session_s(reading.arrival_ns)
        clock.push(last_s, arrival_s)
        sent_s = clock.session_s(last_s)
        self._health.note_late(reading.sensor, reading.arrival_ns, arrival_s - sent_s)
        end_s = sent_s - stream.filter_delay_s
        # Within a packet only the device's own spacing counts. A better fit may step back a little: time still does not.
        t_s = end_s + (device_s - last_s) * (1.0 + clock.drift)
        if t_s[0] <= stream.last_t_s:
            t_s = np.maximum(t_s, stream.last_t_s + 1e-6 * np.arange(1, len(t_s) + 1))
        stream.last_t_s = float(t_s[-1])
        return ImuBlock(
            arrival_ns=reading.arrival_ns,
            sensor=reading.sensor,
            t_s=t_s,
            device_s=device_s,
            gyr_sensor_rad_s=reading.gyr_sensor_rad_s,
            acc_sensor_m_s2=reading.acc_sensor_m_s2,
            saturated=reading.saturated,
        )
