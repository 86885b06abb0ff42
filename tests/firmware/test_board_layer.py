"""The board layer compiles, against declarations of the Arduino API that it uses. That it works, only a board can show."""

from __future__ import annotations

import pytest

from tests.firmware.compiler import CORE, FIRMWARE, HERE, WARNINGS, compile_with, cpp_compiler

SKETCH = FIRMWARE / "board" / "pitchbend_imu"
SOURCES = sorted(path for path in SKETCH.iterdir() if path.suffix in (".cpp", ".ino"))


def compiled(source, folder):
    """Compiled and not linked."""
    return compile_with(
        cpp_compiler(), "-std=c++11", *WARNINGS, f"-I{HERE / 'stubs'}", f"-I{CORE}", f"-I{SKETCH}",
        "-include", "Arduino.h", "-c", "-o", folder / "out.o", "-x", "c++", source,
    )  # fmt: skip


@pytest.mark.parametrize("source", SOURCES, ids=lambda path: path.name)
def test_it_compiles(source, tmp_path):
    done = compiled(source, tmp_path)
    assert done.returncode == 0, done.stderr


def test_a_misspelt_name_would_be_seen(tmp_path):
    broken = tmp_path / "broken.cpp"
    broken.write_text((SKETCH / "board_radio.cpp").read_text().replace("setConnInterval", "setConnIntervall"))
    assert "setConnIntervall" in compiled(broken, tmp_path).stderr


def test_arduino_finds_the_sketch_and_the_library():
    assert (SKETCH / f"{SKETCH.name}.ino").is_file()
    assert "name=pitchbend_core" in (CORE.parent / "library.properties").read_text()
    included = [line for source in SOURCES for line in source.read_text().splitlines() if "<pb_" in line]
    assert included
    assert all((CORE / line.split("<")[1].rstrip(">")).is_file() for line in included)


def test_the_core_knows_no_hardware():
    """Its includes are its own headers and those of the C language that every compiler has."""
    own = {path.name for path in CORE.glob("*.h")}
    for path in [*CORE.glob("*.c"), *CORE.glob("*.h")]:
        for line in path.read_text().splitlines():
            if line.startswith("#include"):
                assert line.split()[1].strip('"<>') in own | {"stdbool.h", "stddef.h", "stdint.h", "string.h"}, path
