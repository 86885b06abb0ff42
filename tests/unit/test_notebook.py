"""The examples for notebooks run as they are written, and print what they say."""

import doctest
from pathlib import Path

ROOT = Path(__file__).parents[2]


def test_the_examples_run_as_they_are_written(monkeypatch):
    monkeypatch.chdir(ROOT)
    done = doctest.testfile(str(ROOT / "docs/notebook.md"), module_relative=False, optionflags=doctest.ELLIPSIS)
    assert done.attempted > 15
    assert done.failed == 0
