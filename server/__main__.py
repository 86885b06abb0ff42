"""`python3 -m server demo`: the program, from a bare checkout too."""

from __future__ import annotations

import sys

from server.bootstrap import ensure

if __name__ == "__main__":
    ensure("virtual" if sys.argv[1:2] == ["virtual-pair"] else "")
    from server.entry import main

    main()
