"""Running figures of one sensor, in memory that does not grow: what `sensors.health` puts together."""
