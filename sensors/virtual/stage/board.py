"""One virtual board on the body: samples the motion by its own clock, rounds to counts, packs notifications."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from sensors.ids import Role, Side
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import OPEN_IMU, SAMPLES_PER_PACKET, pack
from sensors.virtual.blow import shaking
from sensors.virtual.golfer import Build, segments
from sensors.virtual.imu import ImuFaults, counts
from sensors.virtual.stage.acts import Act

READY_S: Final = 0.001
"""From the last sample of a packet to its being ready to send."""

TimedPayload = tuple[float, bytes]
"""Seconds since the stream began, and the notification due then."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Oscillators:
    """The clocks of one board. The device clock is zero when it is switched on."""

    drift: float
    """Device seconds gained per true second."""
    rate_error: float
    """How far the sampling rate is from nominal by the device's own clock."""


class Board:
    """`sample` gives the packets that come due in a slice of an act. Slices must follow each other."""

    def __init__(
        self, role: Role, build: Build, lead_side: Side, faults: ImuFaults, clock: Oscillators, *, seed: int
    ) -> None:
        self._role = role
        self._build = build
        self._lead_side = lead_side
        self._faults = faults
        self._clock = clock
        self._seed = seed
        self._rng = np.random.default_rng((seed, 0))
        self._settings: dict[str, float] = {}
        self._profile = OPEN_IMU
        self._next_s = 0.0
        self._zero_s = 0.0
        """True time at which the device clock was zero."""
        self._sequence = 0
        self._times_s: list[float] = []
        self._counts: list[NDArray[np.int16]] = []

    def set_rate(self, rate_hz: int) -> None:
        """Take samples at another rate from now on. Raises ValueError for one that it does not have."""
        self._set("rate_hz", rate_hz)

    def set_gyr_range(self, range_deg_s: int) -> None:
        """Let full scale be another rate of turn. Raises ValueError for one that it does not have."""
        self._set("gyr_range_deg_s", range_deg_s)

    def set_acc_range(self, range_g: int) -> None:
        """Let full scale be another force. Raises ValueError for one that it does not have."""
        self._set("acc_range_g", range_g)

    def restart(self) -> None:
        """Sequence, clock, rate and ranges as when switched on; what was being gathered is gone."""
        self._zero_s = self._next_s
        self._sequence = 0
        self._times_s.clear()
        self._counts.clear()
        self._settings.clear()
        self._profile = OPEN_IMU

    def _set(self, name: str, value: int) -> None:
        allowed = OPEN_IMU.choices.as_dict()[name]
        if value not in allowed:
            raise ValueError(f"{name} {value}, not one of {allowed}")
        self._settings[name] = value
        self._profile = load_profile(OPEN_IMU.text, OPEN_IMU.name, self._settings)

    def sample(self, act: Act, act_start_s: float, end_s: float, *, n_acts: int) -> list[TimedPayload]:
        """Sample `act`, begun at `act_start_s`, up to `end_s`; `n_acts` numbers it, so that chance repeats with the seed."""
        step_s = 1.0 / (self._profile.nominal_rate_hz * (1.0 + self._clock.rate_error) * (1.0 + self._clock.drift))
        n = max(0, math.ceil((end_s - self._next_s) / step_s))
        if n:
            t_s = self._next_s + step_s * np.arange(n, dtype=np.float64)
            self._next_s += n * step_s
            self._gather(t_s, act, t_s - act_start_s, n_acts)
        return self._packets()

    def _gather(self, t_s: NDArray[np.float64], act: Act, in_act_s: NDArray[np.float64], n_acts: int) -> None:
        body = segments(act.curves, in_act_s, self._build, self._lead_side)
        motion = body.forearm_sensor if self._role is Role.FOREARM else body.club_sensor
        blows_s = () if act.blow_s is None else (act.blow_s,)
        shaken = shaking(in_act_s, blows_s, self._role, np.random.default_rng((self._seed, 1, n_acts)))
        raw = counts(
            motion.body_rate_rad_s() + shaken[0],
            motion.specific_force_m_s2() + shaken[1],
            self._wandered(len(t_s)),
            self._profile,
            self._rng,
        )
        self._times_s.extend(t_s)
        self._counts.extend(raw)

    def _wandered(self, n: int) -> ImuFaults:
        """Let the gyroscope's bias take one step for the whole slice."""
        faults = self._faults
        spread = faults.gyr_bias_walk_rad_s_sqrt_s * math.sqrt(n / self._profile.nominal_rate_hz)
        self._faults = replace(faults, gyr_bias_rad_s=faults.gyr_bias_rad_s + self._rng.normal(0.0, spread, 3))
        return replace(self._faults, gyr_bias_walk_rad_s_sqrt_s=0.0)

    def _packets(self) -> list[TimedPayload]:
        made: list[TimedPayload] = []
        while len(self._counts) >= SAMPLES_PER_PACKET:
            last_s = self._times_s[SAMPLES_PER_PACKET - 1]
            clock_us = round((last_s - self._zero_s) * (1.0 + self._clock.drift) * 1e6)
            payload = pack(
                sequence=self._sequence, clock_us=clock_us, counts=np.array(self._counts[:SAMPLES_PER_PACKET])
            )
            made.append((last_s + READY_S, payload))
            self._sequence += 1
            del self._counts[:SAMPLES_PER_PACKET], self._times_s[:SAMPLES_PER_PACKET]
        return made
