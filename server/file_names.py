"""Names of files that are kept for something with a name of its own."""

from __future__ import annotations

import hashlib
import re


def marked_name(called: str, whole: str, *, nameless: str) -> str:
    """Write what it is called in letters that every file system takes, and a mark that tells all apart: `whole` is all of it."""
    mark = hashlib.sha256(whole.encode("utf-8", "surrogatepass")).hexdigest()[:8]
    plain = re.sub(r"[^A-Za-z0-9]+", "-", called).strip("-")[:40].lower()
    return f"{plain or nameless}-{mark}"
