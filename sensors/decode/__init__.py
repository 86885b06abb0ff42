"""From payloads to readings."""
