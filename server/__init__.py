"""The service: command line, recorder, websocket, page. Kept import-free: the bootstrap runs on a bare Python."""
