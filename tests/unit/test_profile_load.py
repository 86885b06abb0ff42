"""Profile files: what each says, and that whatever is wrong in one is told at its line."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sensors.errors import ProfileError, UnknownProfile
from sensors.events import SensorInfo
from sensors.ids import Role, SensorId
from sensors.profiles.base import ClockKind, Worn
from sensors.profiles.load import load_profile, parse_name
from sensors.profiles.match import heard_profile, service_filter
from sensors.profiles.open_imu import COMMAND_IDENTIFY, COMMAND_START, COMMAND_STOP, OPEN_IMU
from sensors.profiles.registry import PROFILES, profile_named, profile_of
from tests.unit.profile_samples import changed

OPEN = PROFILES["open-imu-1"].text
GSP = PROFILES["movesense-gsp"].text
THINGY = PROFILES["thingy-52"].text


def test_the_open_profile_is_as_its_specification_says():
    """Against the table in sensors/profiles/README.md."""
    commands = OPEN_IMU.commands
    assert [OPEN_IMU.values(w)[0][1] for w in (commands.start, commands.stop, commands.identify)] == [
        COMMAND_START, COMMAND_STOP, COMMAND_IDENTIFY,
    ]  # fmt: skip
    assert OPEN_IMU.service_uuid.startswith("6b1d0001-")
    assert OPEN_IMU.clock.kind is ClockKind.PER_PACKET_LAST
    assert (OPEN_IMU.clock.tick_s, OPEN_IMU.clock.modulus, OPEN_IMU.sequence_modulus) == (1e-6, 2**32, 2**16)
    assert (OPEN_IMU.layout.header_bytes, OPEN_IMU.layout.sample_bytes, OPEN_IMU.layout.most_samples) == (8, 12, 19)
    assert (
        OPEN_IMU.setting_writes == ()
    )  # the device's own settings are never written: older boards know no such command


def test_settings_are_written_and_scales_follow():
    profile = profile_named("open-imu-1@rate_hz=100,gyr_range_deg_s=1000,acc_range_g=8")
    assert [value.hex(" ") for _, value in profile.setting_writes] == ["03 64 00", "04 e8 03", "05 08"]
    assert profile.nominal_rate_hz == 100.0
    assert profile.gyr.si_per_count == pytest.approx(OPEN_IMU.gyr.si_per_count / 2)
    assert profile.acc.si_per_count == pytest.approx(OPEN_IMU.acc.si_per_count / 2)
    big = load_profile(changed(OPEN, 'endian = "little"', 'endian = "big"'), "x", {"rate_hz": 100.0})
    assert [value.hex(" ") for _, value in big.setting_writes] == ["03 00 64"]
    assert load_profile(OPEN, "x", {"rate_hz": 200.0}).name == "open-imu-1"  # the device's own leave no mark


@pytest.mark.parametrize(
    "name", ["open-imu-1@rate_hz=99", "open-imu-1@rate_hz=", "open-imu-1@colour=3", "open-imu-2", "@", "open-imu-1@"]
)
def test_a_name_that_means_nothing_is_unknown(name):
    with pytest.raises(UnknownProfile):
        profile_named(name)


def test_the_other_boards():
    """Against their makers' pages, which the files name."""
    gsp, thingy = PROFILES["movesense-gsp"], PROFILES["thingy-52"]
    assert gsp.start_writes[0][1] == b"\x01\x63/Meas/IMU6/104"
    assert gsp.layout.expected_bytes(b"\x02\x63" + bytes(4)) == 6 + 8 * 24
    assert load_profile(GSP, "x", {"rate_hz": 52.0}).layout.expected_bytes(b"\x02\x63" + bytes(4)) == 6 + 4 * 24
    # ble_tms.h: three intervals of 16 bits within 100 to 1000 or 5000 ms, a rate within 5 to 200 Hz, wake on motion: 9 bytes.
    (value,) = [value for _, value in thingy.start_writes]
    assert len(value) == 9
    assert [int.from_bytes(value[i : i + 2], "little") for i in (0, 2, 4, 6)] == [500, 500, 500, 100]
    assert not thingy.shows_loss
    assert gsp.shows_loss


BAD = [
    (OPEN, 'form = 1\nname = "open-imu-1"', 'form = 2\nname = "open-imu-1"', "form 2 is newer"),
    (OPEN, 'name = "open-imu-1"', 'name = "Open"', "allowed: up to 48 of a-z"),
    (OPEN, 'name = "open-imu-1"', 'name = "float-imu-1"', "is taken"),
    (OPEN, 'service = "6b1d0001', 'service = "6b1d000', "is no UUID; allowed:"),
    (OPEN, 'data = "6b1d', 'dato = "6b1d', "data is missing from \\[bluetooth\\]"),
    (OPEN, 'data = "6b1d', 'dato = "6b1d', 'is "dato" meant to be it'),
    (OPEN, 'start = [{ write = "01" }]', 'start = [{ to = "180f" }]', "write is missing from entry 1 of \\[commands.start\\]"),
    (OPEN, 'start = [{ write = "01" }]', "start = [{ write = 01 }]", 'not TOML: .* Texts stand in "quotes"'),
    (OPEN, "[battery]", '[battery]\nlevel = "xyz"', "is no UUID"),
    (OPEN, "[battery]", "[batery]", "no key 'batery' here; allowed: profile"),
    (OPEN, 'identify = [{ write = "02" }]', 'identify = [{ write = "0" }]', "is not part of a write; allowed:"),
    (OPEN, 'identify = [{ write = "02" }]', 'identify = [{ write = "" }]', "1 to 512 bytes"),
    (OPEN, "03 {rate_hz:u16}", "03 {rate_hz:u12}", "no number type 'u12'; allowed: u8"),
    (OPEN, "03 {rate_hz:u16}", "03 {rate:u16}", "no setting 'rate'; allowed: rate_hz"),
    (OPEN, "04 {gyr_range_deg_s:u16}", "04 {gyr_range_deg_s:u8}", "2000, which does not fit u8"),
    (OPEN, "03 {rate_hz:u16}", "03", "must put in the setting"),
    (OPEN, 'rate = [{ write = "03 {rate_hz:u16}" }]\n', "", "there is a choice, but no write"),
    (OPEN, "hz = 200", "hz = 0", "from 1 to 5000, not 0"),
    (OPEN, "hz = 200", "hz = nan", "from 1 to 5000, not nan"),
    (OPEN, "hz = 200", "hz = true", "must be a number"),
    (OPEN, "choices_hz = [50, 100, 200]", "choices_hz = [50, 100]", "not among its choices"),
    (OPEN, 'endian = "little"', 'endian = "middle"', '"middle"; allowed: "little", "big"'),
    (OPEN, 'type = "u16" }', 'type = "u15" }', '"u15"; allowed: "u8"'),
    (OPEN, 'type = "u8", equals = 1', 'type = "u8", equals = 256', "from 0 to 255"),
    (OPEN, 'type = "u8", equals = 1', 'type = "u8", equals = 1, min = 0', "either equals or min and max"),
    (OPEN, 'name = "sequence", type', 'name = "count", type', 'two fields are called "count"'),
    (OPEN, 'count = "count"', 'count = "cnt"', "count must be a number, a field of"),
    (OPEN, 'count = "count"', "count = 0", "from 1 to 1000"),
    (OPEN, '{ name = "gyr", type = "i16", n = 3 }', '{ name = "gyr", type = "i16", n = 4 }', "must hold gyr, with n = 3"),
    (OPEN, '[sequence]\nfield = "sequence"', '[sequence]\nfield = "seq"', 'no field "seq" in \\[packet\\]'),
    (OPEN, 'kind = "per_packet_last"', 'kind = "last"', 'allowed: "per_packet_last"'),
    (OPEN, 'kind = "per_packet_last"', 'kind = "none"', "a clock of kind none has no field"),
    (OPEN, 'kind = "per_packet_last"', 'kind = "per_sample"', 'no field "clock" in \\[samples\\]'),
    (OPEN, 'unit = "us"', 'unit = "min"', 'allowed: "ns"'),
    (OPEN, "full_scale = 32768", "full_scale = 32768\nscale = 1", "either full_scale"),
    (OPEN, "full_scale = 32768\n", "", "either full_scale"),
    (OPEN, "saturated = [-32768, 32767]", "saturated = [32767]", "two raw numbers"),
    (OPEN, "range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["+x", "+y"]\n', "three of"),
    (OPEN, "range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["+x", "+x", "+z"]\n', "each letter once"),
    (OPEN, "range_deg_s = 2000\n", 'range_deg_s = 2000\naxes = ["+y", "+x", "+z"]\n', "left-handed \\(determinant -1\\)"),
    (OPEN, "range_g = 16\n", 'range_g = 16\naxes = ["+x", "+y", "-z"]\n', "left-handed \\(determinant -1\\)"),
    (OPEN, "range_g = 16\n", "range_g = 16\nleft_handed = true\n", "left-handed \\(determinant 1\\)"),
    (GSP, "{ 52 = 4, 104 = 8 }", "{ 52 = 4 }", "104 is missing"),
    (GSP, "{ 52 = 4, 104 = 8 }", '"rest"', 'count in \\[samples\\] cannot be "rest"'),
    (GSP, 'continues = "03 63"', 'continues = "3"', "bytes in hexadecimal"),
    (GSP, 'continues = "03 63"', 'continues = "02 63"', "cannot be told apart"),
    (GSP, 'names = ["Movesense *"]', 'names = ["*"]', "more than \\*"),
    (GSP, 'unit = "deg/s"', 'unit = "rpm"', 'allowed: "deg/s", "rad/s"'),
    (THINGY, "[packet]\n", "[packet]\nfields = 3\n", "must be a list of tables"),
    (THINGY, "[packet]\n", "packet = 3\n", "packet|packe"),
    (THINGY, "form = 1", "form = 1 2", "not TOML"),
    (THINGY, "form = 1", "form = 1\nform = 1", "not TOML"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "old", "new", "told"), BAD, ids=[f"{i}: {new[:30]!r}" for i, (_, _, new, _) in enumerate(BAD)]
)
def test_what_is_wrong_is_told_at_its_line(text, old, new, told):
    broken = changed(text, old, new)
    with pytest.raises(ProfileError, match=told) as caught:
        load_profile(broken, "my.toml")
    assert re.match(r"my\.toml:\d+: ", str(caught.value))
    assert 1 <= caught.value.line <= broken.count("\n") + 1


@pytest.mark.parametrize(
    ("old", "new", "row"),
    [
        ('endian = "little"', 'endian = "middle"', 'endian = "middle"'),
        (
            '{ name = "sequence", type = "u16" }',
            '{ name = "sequence", type = "u15" }',
            '{ name = "sequence", type = "u15" }',
        ),
        ("saturated = [-32768, 32767]", "saturated = [1]", "saturated = [1]"),
        ('unit = "us"', 'unit = "min"', 'unit = "min"'),
        ('write = "05 {acc_range_g:u8}"', 'write = "05 {acc:u8}"', 'acc_range = [{ write = "05 {acc:u8}" }]'),
        ("choices_g = [2, 4, 8, 16]", "choices_g = [2, -4, 8, 16]", "choices_g = [2, -4, 8, 16]"),
        ("most = 19", "mosst = 19", "mosst = 19"),
        ("hz = 200", "hz = 0", "hz = 0"),
        ('kind = "per_packet_last"', 'kind = "last"', 'kind = "last"'),
        ('data = "6b1d', 'dato = "6b1d', 'dato = "6b1d'),
        ('data = "6b1d', 'values = "6b1d', "[bluetooth]"),  # what is missing has no line of its own: that of its table
        ("[gyroscope]", "[gyro]", "[gyro]"),
        ('start = [{ write = "01" }]', 'start = [{ wirte = "01" }]', 'start = [{ wirte = "01" }]'),
        ("[sequence]\n", "[seqence]\n", "[seqence]"),
        ("range_g = 16", 'range_g = 16\naxes = ["+y", "+x", "+z"]', 'axes = ["+y"'),
    ],
)
def test_the_line_is_exactly_the_wrong_one(old, new, row):
    broken = changed(OPEN, old, new)
    with pytest.raises(ProfileError) as caught:
        load_profile(broken, "x")
    assert broken.split("\n")[caught.value.line - 1].lstrip().startswith(row)


TEXTS = st.sampled_from([OPEN, GSP, THINGY])
JUNK = st.sampled_from(
    ["", "0", "-1", "1e99", "nan", '"', "'", "[", "]", "{", "}", "=", ",", "\n", "#", "true", "x", "é", "[[", "\0"]
)


def problem_of(text):
    """The error of a text, None if it loads."""
    try:
        load_profile(text, "m.toml")
    except ProfileError as error:
        return error
    return None


@settings(max_examples=300, deadline=None)
@given(TEXTS, st.lists(st.tuples(st.integers(0, 4000), st.integers(0, 12), JUNK), min_size=1, max_size=4))
def test_a_mutated_file_loads_or_says_where_it_is_wrong(text, cuts):
    for cut, length, junk in cuts:
        at = cut % len(text)
        text = text[:at] + junk + text[at + length :]
    error = problem_of(text)
    if error is not None:
        assert 1 <= error.line <= text.count("\n") + 1
        assert error.problem
        return
    profile = load_profile(text, "m.toml")  # what loads is whole: its writes can be made
    assert profile.nominal_rate_hz > 0.0
    for write in profile.commands.all:
        assert write.value(profile.settings.as_dict())


@settings(max_examples=100, deadline=None)
@given(TEXTS, st.data())
def test_lines_moved_or_dropped_load_or_say_where(text, data):
    rows = text.split("\n")
    for _ in range(data.draw(st.integers(1, 3))):
        row = rows.pop(data.draw(st.integers(0, len(rows) - 1)))
        if data.draw(st.booleans()):
            rows.insert(data.draw(st.integers(0, len(rows))), row)
    error = problem_of("\n".join(rows))
    assert error is None or 1 <= error.line <= len(rows)


@settings(deadline=None)
@given(st.binary(max_size=400))
def test_any_file_at_all(data):
    text = data.decode("utf-8", "replace")
    with pytest.raises(ProfileError):
        load_profile(text, "x")


def test_deeply_nested_nonsense_is_an_error_not_a_crash():
    with pytest.raises(ProfileError, match="TOML"):
        load_profile("a = " + "[" * 5000 + "]" * 5000, "x")


def test_a_text_that_came_with_the_sensor_counts_more_than_the_name():
    own = changed(OPEN, "hz = 200", "hz = 100")
    info = SensorInfo(
        arrival_ns=0, sensor=SensorId("a"), role=Role.CLUB, profile="open-imu-1", name="", profile_text=own
    )  # fmt: skip
    assert profile_of(info).nominal_rate_hz == 100.0
    other = changed(OPEN, 'name = "open-imu-1"', 'name = "other"')
    for text, error in ((other, "this is the profile other"), (changed(OPEN, "form = 1", "form = 9"), "newer")):
        wrong = SensorInfo(
            arrival_ns=0, sensor=SensorId("a"), role=Role.CLUB, profile="open-imu-1", name="", profile_text=text
        )  # fmt: skip
        with pytest.raises(ProfileError, match=error):
            profile_of(wrong)


def test_names_and_settings():
    assert parse_name("open-imu-1") == ("open-imu-1", {})
    assert parse_name("a@rate_hz=50,acc_range_g=2.5") == ("a", {"rate_hz": 50.0, "acc_range_g": 2.5})
    assert parse_name("a@rate_hz")[1] is None


def test_a_sensor_is_recognised_by_service_or_by_name():
    known = tuple(PROFILES.values())
    named = {
        "open-imu-1": ([OPEN_IMU.service_uuid.upper()], ""),
        "movesense-gsp": ([], "Movesense 123"),
        "thingy-52": (["ef680100-9b35-4933-9b10-52ffa9740042"], "Movesense 123"),  # a service tells more than a name
    }
    for name, (services, heard) in named.items():
        found = heard_profile(known, services, heard)
        assert found is not None
        assert found.name == name
    assert heard_profile(known, ["0000180f-0000-1000-8000-00805f9b34fb"], "Kettle") is None
    assert service_filter(known) is None
    assert service_filter((OPEN_IMU,)) == [OPEN_IMU.service_uuid]


def test_how_it_is_worn_is_told_in_its_own_axes():
    assert OPEN_IMU.worn == Worn(up=(0.0, 1.0, 0.0), top=(0.0, 0.0, 1.0))
    text = OPEN_IMU.text
    assert load_profile(text.replace('up = "+y"', 'up = "-x"'), "a.toml").worn.up == (-1.0, 0.0, 0.0)
    assert load_profile(text.split("[worn]")[0], "a.toml").worn is None
    for value in ('"up"', '"-z"'):
        with pytest.raises(ProfileError) as caught:
            load_profile(text.replace('up = "+y"', f"up = {value}"), "a.toml")
        assert re.match(r"a.toml:(69|70): .*(allowed: |same axis)", str(caught.value))
