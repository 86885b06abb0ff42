"""The same practice through sensors of other kinds, from their bytes to the swing: same swings, same angles.

Sensors without faults on a radio without losses: what is left is the profile, the rate and the clock.
"""

from __future__ import annotations

import heapq
import math
import struct
from dataclasses import replace

import numpy as np
import pytest

from fusion.outputs.instant import Phase
from fusion.outputs.rep import Rep
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role
from sensors.profiles.registry import PROFILES
from sensors.virtual.session import START_NS
from tests.virtual import run_pipeline, virtual_session

G = 9.80665


@pytest.fixture(scope="module")
def session():
    return virtual_session(6, 2, perfect=True)


@pytest.fixture(scope="module")
def usual(session):
    return reps_of(run_pipeline(list(session.events())))


def reps_of(outputs):
    return {output.index: output for output in outputs if isinstance(output, Rep)}


def as_gsp(role, k, rate, force):
    """By hand, as in tests/unit/test_decoder_kinds.py."""
    clock_ms = 3000 + 500 * (role is Role.CLUB) + int(8000 * k / 104)
    return (
        struct.pack("<BBI", 2, 0x63, clock_ms)
        + force.astype("<f4").tobytes()
        + np.degrees(rate).astype("<f4").tobytes()
    )


def as_thingy(_role, _k, rate, force):
    acc, gyr = np.rint(force / G * 1024), np.rint(np.degrees(rate) * 32)
    values = np.clip(np.hstack([acc, gyr, np.zeros((1, 3))]), -32768, 32767)
    return struct.pack("<9h", *values[0].astype(int))


def events_of(session, profile, n, encode):
    """The practice as such sensors send it: sampled at their rate, arriving at connection events 15 ms apart."""
    rate_hz = profile.nominal_rate_hz
    others = [event for event in session.events() if not isinstance(event, RawPacket)]
    others = [
        replace(event, profile=profile.name, profile_text=profile.text) if isinstance(event, SensorInfo) else event
        for event in others
    ]
    streams = []
    for role, link in session.links.items():
        t_s = np.arange(int(session.practice.duration_s * rate_hz)) / rate_hz
        rates, forces = session._ideal(role, t_s)
        packets = []
        for k in range(len(t_s) // n):
            part = slice(k * n, k * n + n)
            at_s = math.ceil((t_s[part.stop - 1] + 0.001) / 0.015) * 0.015
            packets.append(
                RawPacket(
                    arrival_ns=START_NS + round(at_s * 1e9), sensor=link.sensor,
                    payload=encode(role, k, rates[part], forces[part]),
                )
            )  # fmt: skip
        streams.append(packets)
    return list(heapq.merge(others, *streams, key=lambda event: event.arrival_ns))


@pytest.mark.parametrize(("name", "n", "encode"), [("movesense-gsp", 8, as_gsp), ("thingy-52", 1, as_thingy)])
def test_the_swings_are_found_and_the_angles_near(session, usual, name, n, encode):
    found = reps_of(run_pipeline(events_of(session, PROFILES[name], n, encode)))
    assert list(found) == list(usual) == [1, 2]
    for index, rep in usual.items():
        for mark in (Phase.SHAFT_LEVEL, Phase.TOP):
            a, b = rep.checkpoints[mark], found[index].checkpoints[mark]
            assert b.t_s == pytest.approx(a.t_s, abs=0.01)
            for angle in ("bend_change_rad", "shaft_elevation_rad"):
                first, second = (math.degrees(getattr(at.angles, angle)) for at in (a, b))
                assert second == pytest.approx(first, abs=0.3), (mark, angle)
