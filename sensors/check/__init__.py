"""Whether a profile and a sensor's packets fit each other: `pitchbend sensors check`."""
