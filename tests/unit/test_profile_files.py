"""Profile files of a person's own: a folder, and files and names given on the command line."""

import pytest

from sensors.errors import ProfileError, UnknownProfile
from sensors.profile_files import known_profiles, read_profile, wanted_profile
from sensors.profiles.registry import PROFILES
from tests.unit.profile_samples import changed

OPEN = PROFILES["open-imu-1"].text


def test_a_folder_of_ones_own(tmp_path):
    own = changed(changed(OPEN, 'name = "open-imu-1"', 'name = "my-board"'), "hz = 200", "hz = 100")
    (tmp_path / "mine.toml").write_bytes(
        own.replace("\n", "\r\n").encode("utf-8-sig")
    )  # as a plain editor may write it
    (tmp_path / "again.toml").write_text(own)
    (tmp_path / "broken.toml").write_text("form = ")
    (tmp_path / "latin.toml").write_bytes(b"# ok\n# \xe9\n")
    (tmp_path / "notes.txt").write_text("no profile")
    known = known_profiles(folder=tmp_path)
    assert [profile.name for profile in known.profiles] == ["my-board", *PROFILES]
    assert sorted((error.file.rsplit("/")[-1], error.line) for error in known.problems) == [
        ("broken.toml", 1), ("latin.toml", 2), ("mine.toml", 0),
    ]  # fmt: skip
    assert wanted_profile("my-board@gyr_range_deg_s=500", folder=tmp_path).settings.gyr_range_deg_s == 500.0
    assert known_profiles((str(tmp_path / "mine.toml"),), folder=tmp_path).profiles[0].name == "my-board"
    assert (
        known_profiles((f"{tmp_path / 'mine.toml'}@rate_hz=50",), folder=tmp_path).profiles[0].nominal_rate_hz == 50.0
    )
    first = known_profiles(("open-imu-1@rate_hz=50",), folder=tmp_path).profiles
    assert [profile.name for profile in first] == ["open-imu-1@rate_hz=50", "my-board", "movesense-gsp", "thingy-52"]
    with pytest.raises(UnknownProfile):
        wanted_profile("nobody", folder=tmp_path)
    with pytest.raises(ProfileError, match="cannot be read"):
        read_profile(tmp_path / "none.toml")
    (tmp_path / "long.toml").write_bytes(b"#" * 300_000)
    with pytest.raises(ProfileError, match="at most 256 kB"):
        read_profile(tmp_path / "long.toml")


def test_a_file_of_ones_own_replaces_one_of_the_same_name(tmp_path):
    (tmp_path / "o.toml").write_text(changed(OPEN, "hz = 200", "hz = 100"))
    profiles = known_profiles(folder=tmp_path).profiles
    assert [profile.name for profile in profiles] == ["open-imu-1", "movesense-gsp", "thingy-52"]
    assert profiles[0].nominal_rate_hz == 100.0
