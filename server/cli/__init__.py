"""The `pitchbend` command."""
