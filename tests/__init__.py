"""The test suite; `python3 -m tests` sets everything up and runs it."""
