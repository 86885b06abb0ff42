"""`pitchbend sensors check`: a capture of a sensor turned by hand, right profiles, and profiles with one thing wrong each."""

from __future__ import annotations

import struct

import numpy as np
import pytest

from sensors.check.capture import CaptureError, packets_of_text, read_capture
from sensors.check.findings import Grade, Subject, check_packets
from sensors.profiles.load import load_profile
from sensors.profiles.open_imu import OPEN_IMU
from sensors.profiles.registry import PROFILES
from sensors.record.writer import Recorder
from server.check_advice import found_words
from tests.unit.hand_turned import G, hand_turned, open_packets


def grades(check):
    return {finding.subject: finding.grade for finding in check.findings}


def open_profile(old="", new=""):
    assert old in OPEN_IMU.text
    return load_profile(OPEN_IMU.text.replace(old, new, 1), "x.toml")


def test_a_right_profile(packets):
    check = check_packets(OPEN_IMU, packets)
    assert set(grades(check).values()) == {Grade.GOOD}
    assert check.fits
    assert check.rest.force_m_s2 == pytest.approx(G, rel=0.005)
    assert check.turning.scale == pytest.approx(1.0, abs=0.02)
    assert check.decoded.device_rate_hz == pytest.approx(200.0)


BOTH = [("gyroscope", "range_deg_s = 2000\n"), ("accelerometer", "range_g = 16\n")]
WRONG = {
    "gyroscope's sign": (("range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["-x", "-y", "+z"]\n'), Subject.AXES, "-x, -y, +z"),
    "axes in another order": (
        ("range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["+y", "+z", "+x"]\n'), Subject.AXES, "+z, +x, +y",
    ),
    "left-handed gyroscope": (
        ("range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["-x", "-y", "-z"]\nleft_handed = true\n'),
        Subject.AXES, "left-handed",
    ),
    "gyroscope's range": (("full_scale = 32768\nsaturated", "full_scale = 65536\nsaturated"), Subject.GYR_SCALE, "2.0"),
    "accelerometer's range": (("range_g = 16", "range_g = 8"), Subject.GRAVITY, "4.9"),
    "unit of the clock": (('unit = "us"', 'unit = "us"\nticks_per_unit = 1.1'), Subject.CLOCK, "219.97 samples"),
    "order of bytes": (('endian = "little"', 'endian = "big"'), Subject.CLOCK, "see endian"),
    "unit of the clock by far": (('unit = "us"', 'unit = "ms"'), Subject.CLOCK, "contradict each other or the arrivals"),
    "rate": (("hz = 200\nchoices_hz = [50, 100, 200]", "hz = 100\nchoices_hz = [50, 100, 200]"), Subject.RATE, "199.70"),
    "most samples": (("most = 19", "most = 9"), Subject.PACKETS, "Not one"),
    "end of the range": (("saturated = [-32768, 32767]", "saturated = [-900, 900]"), Subject.SATURATION, "readings at the end"),
}  # fmt: skip


@pytest.mark.parametrize("what", list(WRONG))
def test_one_thing_wrong_is_found_and_named(packets, what):
    (old, new), subject, told = WRONG[what]
    check = check_packets(open_profile(old, new), packets)
    (finding,) = [finding for finding in check.findings if finding.subject is subject]
    assert finding.grade is (Grade.DOUBTFUL if subject is Subject.SATURATION else Grade.BAD)
    assert told in found_words(check, finding)


def test_left_handed_axes_of_both(motion):
    """A board whose z counts the other way on both instruments, read as if it were right-handed."""
    rates, forces = motion
    flip = np.array([1, 1, -1])
    mirrored = open_packets(rates * flip, forces * flip)
    check = check_packets(OPEN_IMU, mirrored)
    assert check.turning.best_axes == ("-x", "-y", "-z")
    assert check.turning.scale == pytest.approx(-1.0, abs=0.02)
    assert grades(check)[Subject.AXES] is Grade.BAD
    said = OPEN_IMU.text
    for _, row in BOTH:
        said = said.replace(row, row + 'axes = ["+x", "+y", "-z"]\nleft_handed = true\n')
    assert check_packets(load_profile(said, "x"), mirrored).fits


def test_a_range_that_ends_before_the_profile_says(motion):
    rates, forces = motion
    check = check_packets(OPEN_IMU, open_packets(np.clip(rates, -1.5, 1.5), forces))
    assert check.held
    assert grades(check)[Subject.SATURATION] is Grade.DOUBTFUL


def test_without_motion_or_rest_nothing_is_claimed(motion):
    rates, forces = motion
    still = check_packets(OPEN_IMU, open_packets(rates[:300], forces[:300]))
    assert grades(still)[Subject.AXES] is grades(still)[Subject.GYR_SCALE] is Grade.UNKNOWN
    one_axis = check_packets(OPEN_IMU, open_packets(rates[:1600], forces[:1600]))
    assert grades(one_axis)[Subject.AXES] is Grade.UNKNOWN
    moving = check_packets(OPEN_IMU, open_packets(rates[500:700], forces[500:700]))
    assert grades(moving)[Subject.GRAVITY] is Grade.UNKNOWN


def test_a_swing_alone_does_not_condemn_right_axes(tmp_path):
    """In swings the arm's own acceleration is as large as what gravity's turning shows."""
    from tests.virtual import virtual_session

    session = virtual_session(6, 2)
    path = tmp_path / "swings.mcap"
    with Recorder(path) as recorder:
        for event in session.events():
            recorder.write(event)
    for sent in read_capture(path, OPEN_IMU).packets.values():
        assert check_packets(OPEN_IMU, sent).fits


def gsp_lines(rate_hz=104.0):
    rates, forces = hand_turned(rate_hz)
    lines = ["# made by hand", ""]
    for k in range(len(rates) // 8):
        part = slice(8 * k, 8 * k + 8)
        message = struct.pack("<BBI", 2, 0x63, round(1000 * 8 * k / rate_hz) + 5000)
        message += forces[part].astype("<f4").tobytes() + np.degrees(rates[part]).astype("<f4").tobytes()
        at_s = 8 * (k + 1) / rate_hz + 0.02
        lines.append(f"{at_s:.4f} {message[:158].hex()}")
        lines.append(f"{at_s + 0.002:.4f}\t03:63:{message[158:].hex(':')}")
    return lines


def thingy_lines(rate_hz=100.0):
    rates, forces = hand_turned(rate_hz)
    acc, gyr = np.rint(forces / G * 1024).astype(int), np.rint(np.degrees(rates) * 32).astype(int)
    return [
        f"{0.01 * k + 0.015 * (k % 3):.4f} {struct.pack('<9h', *acc[k], *gyr[k], 0, 0, 0).hex()}"
        for k in range(len(rates))
    ]


@pytest.mark.parametrize("name", ["movesense-gsp", "thingy-52"])
def test_the_other_boards_from_text(name, tmp_path):
    lines = gsp_lines() if name == "movesense-gsp" else sorted(thingy_lines(), key=lambda line: float(line.split()[0]))
    path = tmp_path / "capture.txt"
    path.write_text("\n".join(lines))
    profile = PROFILES[name]
    ((sensor, sent),) = read_capture(path, profile).packets.items()
    assert sensor == "capture"
    found = grades(check_packets(profile, sent))
    blind = name == "thingy-52"
    assert found[Subject.LOSS] is (Grade.UNKNOWN if blind else Grade.GOOD)
    assert found[Subject.CLOCK] is (Grade.UNKNOWN if blind else Grade.GOOD)
    rest = {subject: grade for subject, grade in found.items() if subject not in {Subject.LOSS, Subject.CLOCK}}
    assert set(rest.values()) == {Grade.GOOD}


@pytest.mark.parametrize(
    ("line", "number"),
    [
        ("1.0", 2),
        ("x 01", 2),
        ("1.0 0", 2),
        ("1.0 0g", 2),
        ("nan 01", 2),
        ("inf 01", 2),
        ("0.5 01", 2),
        ("1e400 01", 2),
    ],
)
def test_a_line_that_is_wrong_is_named(line, number, tmp_path):
    with pytest.raises(CaptureError, match=f"c.txt:{number}: "):
        packets_of_text(["1.0 01", line], tmp_path / "c.txt")


def test_captures_that_are_none(tmp_path):
    empty, binary, gone = tmp_path / "e.txt", tmp_path / "b.bin", tmp_path / "gone"
    empty.write_text("# nothing\n")
    binary.write_bytes(b"\xff\x00\x01")
    for path, told in (
        (empty, "no notifications; a line is"),
        (binary, "neither"),
        (gone, "cannot be read"),
        (tmp_path, "cannot be read"),
    ):
        with pytest.raises(CaptureError, match=told):
            read_capture(path, OPEN_IMU)


def test_a_text_that_a_shell_wrote_or_that_was_cut_off(packets, tmp_path):
    lines = [f"{packet.arrival_ns * 1e-9:.4f} {packet.payload.hex()}" for packet in packets[:3]]
    path = tmp_path / "c.txt"
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        path.write_text("\r\n".join(lines), encoding=encoding)
        sent = read_capture(path, OPEN_IMU)
        assert [one.payload for one in sent.packets["capture"]] == [one.payload for one in packets[:3]]
        assert not sent.last_line_cut_off
    path.write_text("\n".join(lines)[:-1])  # half a byte is missing
    sent = read_capture(path, OPEN_IMU)
    assert (len(sent.packets["capture"]), sent.last_line_cut_off) == (2, True)
    path.write_text("\n".join(lines)[:-1] + "\n")  # a whole line, and wrong
    with pytest.raises(CaptureError, match=r"c\.txt:3: "):
        read_capture(path, OPEN_IMU)
