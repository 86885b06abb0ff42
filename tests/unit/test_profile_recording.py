"""A recording carries the profile that reads it: whoever opens it needs no file of the person who made it."""

import math
import struct
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from typer.testing import CliRunner

from sensors.decode.decoder import Decoder
from sensors.errors import ProfileError
from sensors.events import RawPacket, SensorInfo
from sensors.ids import Role
from sensors.ingest import Ingest
from sensors.profiles.open_imu import OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.readings import ImuBlock
from sensors.record.reader import ReadReport, read_events
from sensors.record.summary import Summariser
from sensors.record.writer import Recorder
from server.cli import main
from tests.unit.profile_samples import COUNTED_ONLY, PER_SAMPLE
from tests.unit.record_samples import CLUB, FOREARM, START_NS

THINGY = PROFILES["thingy-52"]


def introduction(sensor, role, profile):
    return SensorInfo(
        arrival_ns=START_NS, sensor=sensor, role=role, profile=profile.name, profile_text=profile.text, name="n"
    )


def practice(seconds=3.0):
    """Two kinds of sensor that no program but this test's knows."""
    events = [introduction(FOREARM, Role.FOREARM, PER_SAMPLE), introduction(CLUB, Role.CLUB, COUNTED_ONLY)]
    for k in range(int(50 * seconds)):
        at_ns = START_NS + 20_000_000 * (k + 1)
        row = np.array([0, 0, 2048, k, -k, 7], dtype=">i2").tobytes()
        stamps = b"".join((20 * k + 10 * i).to_bytes(2, "big") + row for i in range(2))
        counts = np.array([[k, -k, 7, 0, 0, 2048]] * 2, dtype="<i2").tobytes()
        events.append(RawPacket(arrival_ns=at_ns, sensor=FOREARM, payload=b"\x07" + stamps))
        events.append(RawPacket(arrival_ns=at_ns + 5, sensor=CLUB, payload=bytes([k % 256]) + counts))
    return events


def blocks(events):
    ingest = Ingest()
    return [block for event in events for block in ingest.push(event) if isinstance(block, ImuBlock)]


def recorded(path, events):
    with Recorder(path) as recorder:
        for event in events:
            recorder.write(event)
    return path


def same(a, b):
    assert len(a) == len(b) > 100
    for one, other in zip(a, b, strict=True):
        for name in ("t_s", "device_s", "gyr_sensor_rad_s", "acc_sensor_m_s2"):
            assert np.array_equal(getattr(one, name), getattr(other, name))


def test_what_was_recorded_is_read_without_the_file(tmp_path):
    events = practice()
    path = recorded(tmp_path / "a.mcap", events)
    assert PER_SAMPLE.name not in PROFILES
    assert list(read_events(path)) == events
    same(blocks(read_events(path)), blocks(events))


def test_recordings_made_before_profiles_were_data_give_the_same_numbers():
    """The bundled demo, which carries no profile text, against struct and the table of the specification."""
    events = list(read_events(Path(__file__).parents[2] / "recordings" / "hollow-fen-evening.mcap"))
    assert all(not event.profile_text for event in events if isinstance(event, SensorInfo))
    decoders = {event.sensor: Decoder(OPEN_IMU) for event in events if isinstance(event, SensorInfo)}
    gyr_scale, acc_scale = math.radians(2000.0) / 32768, 16.0 * 9.80665 / 32768
    n_readings = 0
    for event in events:
        if not isinstance(event, RawPacket):
            continue
        reading = decoders[event.sensor].push(event)[-1]
        numbers = struct.unpack_from(f"<{6 * event.payload[1]}h", event.payload, 8)
        rows = [numbers[i : i + 6] for i in range(0, len(numbers), 6)]
        assert reading.gyr_sensor_rad_s.tolist() == [[value * gyr_scale for value in row[:3]] for row in rows]
        assert reading.acc_sensor_m_s2.tolist() == [[value * acc_scale for value in row[3:]] for row in rows]
        assert reading.saturated == any(value in {-32768, 32767} for row in rows for value in row[:3])
        n_readings += 1
    assert n_readings > 6000


def test_the_profile_survives_damage_to_the_introduction(tmp_path):
    """It stands with every packet channel too, and in the summary at the end of the file."""
    events = practice()
    path = recorded(tmp_path / "a.mcap", events)
    data = bytearray(path.read_bytes())
    at = data.index(b'"type":"sensor_info"')
    data[at + 9] ^= 0x20
    path.write_bytes(data)
    report = ReadReport()
    rest = blocks(read_events(path, report=report))
    assert report.n_damaged_chunks == 1
    assert report.n_reintroduced >= 1
    assert len(rest) > 100


def test_the_summary_says_that_a_loss_cannot_be_seen(tmp_path):
    events = [introduction(FOREARM, Role.FOREARM, THINGY), introduction(CLUB, Role.CLUB, COUNTED_ONLY)]
    for k in range(100):
        at_ns = START_NS + 10_000_000 * k
        events.append(RawPacket(arrival_ns=at_ns, sensor=FOREARM, payload=bytes(18)))
        if k % 2 == 0 and k != 50:
            events.append(RawPacket(arrival_ns=at_ns + 5, sensor=CLUB, payload=bytes([k // 2]) + bytes(24)))
    summariser, ingest = Summariser(), Ingest()
    for event in read_events(recorded(tmp_path / "a.mcap", events)):
        summariser.push(event)
        ingest.push(event)
    lost = {sensor.sensor: sensor.n_lost for sensor in summariser.summary().sensors}
    assert lost == {FOREARM: None, CLUB: 2}
    assert {health.sensor: health.n_lost for health in ingest.health(START_NS)} == lost
    told = (
        CliRunner().invoke(main.app, ["inspect", str(tmp_path / "a.mcap"), "--no-reps"], catch_exceptions=False).stdout
    )
    counts, shares = [line.split() for line in told.split("\n") if line.strip().startswith("lost")]
    assert counts[:3] == ["lost", "unknown", "2"]
    assert shares[:3] == ["lost", "unknown", "1"]


def test_a_profile_of_a_newer_form_is_told_not_guessed(tmp_path):
    newer = replace(introduction(CLUB, Role.CLUB, THINGY), profile_text=THINGY.text.replace("form = 1", "form = 2"))
    with pytest.raises(ProfileError, match="newer than this version"):
        Ingest().push(newer)
    summariser = Summariser()
    summariser.push(newer)
    summariser.push(RawPacket(arrival_ns=START_NS, sensor=CLUB, payload=bytes(18)))
    (sensor,) = summariser.summary().sensors
    assert (sensor.n_packets, sensor.n_samples) == (1, 0)


def test_another_profile_for_the_same_sensor_begins_another_channel(tmp_path):
    first = introduction(CLUB, Role.CLUB, COUNTED_ONLY)
    second = replace(first, profile_text=COUNTED_ONLY.text.replace("range_g = 16", "range_g = 8"))
    payload = bytes(1) + np.array([[0, 0, 0, 0, 0, 2048]] * 2, dtype="<i2").tobytes()
    events = [
        first,
        RawPacket(arrival_ns=START_NS, sensor=CLUB, payload=payload),
        second,
        RawPacket(arrival_ns=START_NS + 1, sensor=CLUB, payload=payload),
    ]
    before, after = blocks(read_events(recorded(tmp_path / "a.mcap", events)))
    assert before.acc_sensor_m_s2[0, 2] == pytest.approx(9.80665)
    assert after.acc_sensor_m_s2[0, 2] == pytest.approx(9.80665 / 2)
