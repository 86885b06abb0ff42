"""`python3 -m server demo`: the program, from a bare checkout too."""

from __future__ import annotations

from server.bootstrap import ensure

if __name__ == "__main__":
    ensure()
    from server.cli.main import main

    main()
