"""Profile files that can be read and must not be used: what a sensor sends would come out wrong, and nobody would see it."""

import numpy as np
import pytest

from sensors.errors import ProfileError
from sensors.events import SensorInfo
from sensors.ids import Role, SensorId
from sensors.profiles.load import load_profile
from sensors.profiles.registry import PROFILES, profile_of
from tests.unit.profile_samples import PER_SAMPLE, changed

OPEN, GSP = PROFILES["open-imu-1"].text, PROFILES["movesense-gsp"].text


SENSELESS = [
    (OPEN, "saturated = [-32768, 32767]", "saturated = [-40000, 40000]", "gyr is i16 in .*no reading would ever be at the end"),
    (OPEN, '"gyr", type = "i16"', '"gyr", type = "u16"', "gyr is u16 in .* no numbers below 0"),
    (OPEN, "full_scale = 32768", "full_scale = 2048", "by range_deg_s the range ends at the raw number 2048"),
    (GSP, "saturated = [-78.4, 78.4]", "saturated = [-1e9, 1e9]", "by range_g the range ends at the raw number 78.45"),
    (GSP, 'ignore = ["01"]', 'ignore = ["02 63"]', '"02 63" is how every notification with samples begins'),
    (GSP, 'ignore = ["01"]', 'ignore = ["01", "03"]', '"03" is how further parts begin'),
    (GSP, 'name = "clock", type = "u32"', 'name = "clock", type = "u8"', "begins anew every 0.256 s"),
    (GSP, 'unit = "ms"', 'unit = "s"', "steps by 1 s: at 104 samples a second times are of little use"),
    (OPEN, 'unit = "us"', 'unit = "s"', "steps by 1 s: at 200 samples a second times are of little use"),
    (GSP, "{ 52 = 4, 104 = 8 }", "{ 104 = 8 }", "52 is missing"),  # at every rate that can be chosen
    (GSP, "{ 52 = 4, 104 = 8 }", "{ 52 = 4, 104 = 8, 208 = 16 }", "no key '208' here; allowed: 104, 52"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "old", "new", "told"), SENSELESS)
def test_what_makes_no_sense_is_told_at_its_line(text, old, new, told):
    broken = changed(text, old, new)
    with pytest.raises(ProfileError, match=told) as caught:
        load_profile(broken, "my.toml")
    assert caught.value.line > 1


def test_a_clock_too_coarse_for_its_rate():
    """One sample a notification and no counter: a step of two spacings must stand out from a tick."""
    single = changed(changed(GSP, "{ 52 = 4, 104 = 8 }", "1"), "choices_hz = [52, 104]", "choices_hz = [52, 104, 833]")
    with pytest.raises(ProfileError, match="at 833 samples a second a lost notification does not show"):
        load_profile(single, "x")
    fast = changed(PER_SAMPLE.text, "hz = 100", "hz = 1660")
    with pytest.raises(ProfileError, match="at 1660 samples a second two samples have the same time"):
        load_profile(fast, "x")


def test_what_a_recording_says_is_read_though_a_file_may_not_say_it_any_more():
    text = changed(OPEN, "saturated = [-32768, 32767]", "saturated = [-40000, 40000]")
    with pytest.raises(ProfileError):
        load_profile(text, "x")
    recorded = SensorInfo(
        arrival_ns=0, sensor=SensorId("a"), role=Role.CLUB, profile="open-imu-1", name="", profile_text=text
    )  # fmt: skip
    assert profile_of(recorded).gyr.highest == 40000


def test_where_a_narrower_range_ends_goes_along_with_it():
    """With a scale that is the same at every range the raw numbers at its end are not."""
    text = changed(GSP, "range_deg_s = 2000\n", "range_deg_s = 2000\nchoices_deg_s = [500, 2000]\n")
    text = changed(text, "stop = [", "gyr_range = [{ write = '07 {gyr_range_deg_s:u16}' }]\nstop = [")
    assert load_profile(text, "x").gyr.highest == 2000
    narrow = load_profile(text, "x", {"gyr_range_deg_s": 500.0})
    assert (narrow.gyr.lowest, narrow.gyr.highest) == (-500.0, 500.0)
    assert narrow.gyr.si_per_count == pytest.approx(np.radians(1.0))
