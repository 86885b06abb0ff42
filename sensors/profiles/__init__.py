"""Device profiles: how each kind of sensor is found and its packets read. `README.md` is the open profile."""
