"""The page's words stand in `web/src/words`, so that another language is another folder.

Found in the compilers' own trees by `web/scripts/literals.mjs`: in a component's markup every word that is shown or read out, in
code every text of more than one word.
"""

from __future__ import annotations

import subprocess
from pathlib import Path

from server.page_build import find_node

WEB = Path(__file__).parents[2] / "web"


def literals() -> list[str]:
    node = find_node()
    assert node is not None, "the pages are built with it"
    script = WEB / "scripts" / "literals.mjs"
    out = subprocess.run([node.node, str(script)], capture_output=True, text=True, encoding="utf-8", check=True).stdout
    return out.splitlines()


def test_no_words_stand_outside_their_folder() -> None:
    assert literals() == []
