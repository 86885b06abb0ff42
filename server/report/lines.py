"""Breaks text into lines by how wide it is printed, not by how many letters it has: no name is too wide for the sheet."""

from __future__ import annotations

from functools import lru_cache

from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path


def lines_of(text: str, *, size: float, weight: str, width_pt: float) -> list[str]:
    """Break between words, and within one that is wider than a line."""
    font = FontProperties(size=size, weight=weight)

    def fits(line: str) -> bool:
        return sum(_width_pt(letter, font) for letter in line) <= width_pt

    lines: list[str] = []
    for paragraph in text.splitlines():
        line = ""
        for word in paragraph.split():
            longer = f"{line} {word}".lstrip()
            if line and not fits(longer):
                lines.append(line)
                longer = word
            while not fits(longer):
                n = next(n for n in range(len(longer) - 1, 0, -1) if n == 1 or fits(longer[:n]))
                lines.append(longer[:n])
                longer = longer[n:]
            line = longer
        lines.append(line)
    return lines


@lru_cache(maxsize=4096)
def _width_pt(letter: str, font: FontProperties) -> float:
    """Of one letter: pairs that are drawn nearer to each other make a line narrower, never wider."""
    width, _, _ = text_to_path.get_text_width_height_descent(f"{letter}|", font, ismath=False)
    bar, _, _ = text_to_path.get_text_width_height_descent("|", font, ismath=False)
    return float(width - bar)
