"""Where events come from: a radio, a recording. The only I/O on the way in."""
