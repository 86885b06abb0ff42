"""Pictures of a link: for a page, and for a terminal."""

from __future__ import annotations

import io

import segno
from pydantic import BaseModel


class QrView(BaseModel):
    """Dark squares as the path of an SVG, one unit a square, within the margin of four that ISO/IEC 18004 asks for."""

    size: int
    path: str


def qr_view(text: str) -> QrView:
    """Draw it for a page."""
    rows = [list(row) for row in segno.make(text, micro=False, error="m").matrix_iter(border=4)]
    path = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(rows) for x, dark in enumerate(row) if dark)
    return QrView(size=len(rows), path=path)


def qr_blocks(text: str) -> str:
    """Draw it for a terminal that writes white on black."""
    out = io.StringIO()
    segno.make(text, micro=False, error="l").terminal(out, compact=True, border=2)
    return out.getvalue()
