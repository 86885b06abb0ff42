from __future__ import annotations

from dataclasses import replace

import pytest
from record_samples import CLUB, FOREARM, START_NS, introductions, packet, packets, practice

from sensors.events import LinkChange, LinkState, MoveEnd, MoveStart, RawPacket, SensorInfo, TrimSet
from sensors.ids import Move, Role, SensorId
from sensors.record.summary import MoveMark, Summariser, Summary
from sensors.trim import Trim


def summed(events):
    summariser = Summariser()
    for event in events:
        summariser.push(event)
    return summariser.summary()


def test_nothing():
    assert summed([]) == Summary(duration_s=0.0, n_events=0, n_packets=0, player=None, moves=(), sensors=())


def test_a_whole_practice():
    events = practice(10.0)
    summary = summed(events)
    assert summary.duration_s == pytest.approx(9.95)
    assert summary.n_events == len(events)
    assert summary.n_packets == 400
    assert summary.player.name == "Wren Øster"
    assert summary.moves == (MoveMark(move=Move.STILL, start_s=0.0, end_s=None),)
    forearm, club = summary.sensors
    assert (forearm.sensor, forearm.role, forearm.firmware) == (FOREARM, "forearm", "1.2")
    assert (club.sensor, club.role, club.battery_pct, club.n_drops) == (CLUB, "club", 88, 1)
    for sensor in summary.sensors:
        assert sensor.n_samples == 2000
        assert sensor.rate_hz == pytest.approx(200.0)
        assert (sensor.n_lost, sensor.n_malformed, sensor.n_restarts) == (0, 0, 0)
        assert sensor.longest_gap_s == pytest.approx(0.05)


def test_lost_packets_and_the_longest_wait():
    events = [*introductions(), *packets(5.0)]
    kept = [e for i, e in enumerate(events) if not (isinstance(e, RawPacket) and e.sensor == CLUB and 40 < i < 61)]
    (_, club) = summed(kept).sensors
    n_gone = len(events) - len(kept)
    assert club.n_lost == 10 * n_gone
    assert club.longest_gap_s == pytest.approx(0.05 * (n_gone + 1))
    assert 0.5 < club.longest_gap_at_s < 1.0
    assert club.rate_hz == pytest.approx(200.0)


def test_packets_that_do_not_fit_and_come_twice_are_counted():
    first = packet(CLUB, 0, START_NS)
    second = packet(CLUB, 1, START_NS + 1)
    broken = replace(first, payload=b"\x01")
    (_, club) = summed([*introductions(), first, second, second, broken]).sensors
    assert (club.n_packets, club.n_samples, club.n_duplicates, club.n_malformed) == (4, 20, 1, 1)


def test_a_sensor_that_began_anew():
    events = [packet(CLUB, i, START_NS + i) for i in (100, 101, 0, 1)]
    (_, club) = summed([*introductions(), *events]).sensors
    assert (club.n_restarts, club.n_lost) == (1, 0)


def test_strangers_and_unknown_profiles_are_listed_unread():
    stranger = packet(SensorId("who"), 0, START_NS)
    odd = SensorInfo(arrival_ns=START_NS, sensor=CLUB, role=Role.CLUB, profile="sundial", name="x")
    link = LinkChange(arrival_ns=START_NS, sensor=CLUB, state=LinkState.STREAMING)
    who, club = summed([stranger, odd, link, packet(CLUB, 0, START_NS)]).sensors
    assert (who.role, who.n_packets, who.n_samples, who.rate_hz, who.longest_gap_s) == ("", 1, 0, None, 0.0)
    assert (club.profile, club.n_packets, club.n_samples) == ("sundial", 1, 0)


def test_moves_are_timed_from_the_first_event():
    start = MoveStart(arrival_ns=START_NS + 2_500_000_000, move=Move.TWIRL)
    end = MoveEnd(arrival_ns=START_NS + 4_000_000_000, move=Move.TWIRL)
    stray = MoveEnd(arrival_ns=START_NS + 5_000_000_000, move=Move.PALM)
    assert summed([*introductions(), start, end, stray]).moves == (
        MoveMark(move=Move.STILL, start_s=0.0, end_s=None),
        MoveMark(move=Move.TWIRL, start_s=2.5, end_s=4.0),
    )


def test_a_sensor_with_its_own_calibration():
    trim = TrimSet(arrival_ns=START_NS, sensor=CLUB, trim=Trim())
    assert [sensor.trimmed for sensor in summed([*introductions(), trim]).sensors] == [False, True]
