"""Constants that fit the sensors to the body."""
