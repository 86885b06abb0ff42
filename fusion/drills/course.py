"""How a drill is gone through: blocks of reps in which the cue grows rarer, and at last a test without any.

Practice with feedback on every trial looks better while it lasts and keeps worse; a share that fades keeps better (Winstein and
Schmidt 1990, J Exp Psychol LMC 16:677-691; Aoyagi et al. 2019, J Phys Ther Sci 31:687-691). The direction is published, the
shares are a proposal. What was reached with the cue and without is kept apart.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum

from fusion.outputs.rep import Verdict


class CueShare(StrEnum):
    """Which reps of a block are cued: from its first, every one, every other, every fourth, or none."""

    EVERY = "every"
    HALF = "half"
    QUARTER = "quarter"
    NONE = "none"
    """A test: neither cue nor figures."""

    @property
    def every(self) -> int | None:
        """One rep in so many is cued; None for none."""
        return {CueShare.EVERY: 1, CueShare.HALF: 2, CueShare.QUARTER: 4, CueShare.NONE: None}[self]


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Reps that are cued alike."""

    n_reps: int
    cue: CueShare


@dataclass(frozen=True, slots=True, kw_only=True)
class BlockTally:
    """What became of one block. A rep whose angles could not be trusted is swung all the same, but not judged."""

    block: Block
    n_swung: int = 0
    n_judged: int = 0
    n_in_band: int = 0
    n_cued: int = 0
    """Reps in which the cue was allowed to sound."""

    @property
    def over(self) -> bool:
        """All its reps are swung."""
        return self.n_swung >= self.block.n_reps


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """Where a player stands in a drill's blocks. `after(...)` gives the course one rep on."""

    tallies: tuple[BlockTally, ...] = ()

    @staticmethod
    def of(blocks: tuple[Block, ...]) -> Course:
        """Begin at the first rep of the first block; without blocks every rep is cued and nothing is counted."""
        return Course(tallies=tuple(BlockTally(block=block) for block in blocks))

    @property
    def index(self) -> int | None:
        """Which block is under way, from 0; None when there are none or all are done."""
        return next((i for i, tally in enumerate(self.tallies) if not tally.over), None)

    @property
    def over(self) -> bool:
        """All blocks are done."""
        return bool(self.tallies) and self.index is None

    @property
    def cued(self) -> bool:
        """Whether the next rep is cued. When the course is over it is not: what was learnt should now hold by itself."""
        if not self.tallies:
            return True
        index = self.index
        if index is None:
            return False
        tally = self.tallies[index]
        every = tally.block.cue.every
        return every is not None and tally.n_swung % every == 0

    @property
    def testing(self) -> bool:
        """Whether the next rep is of a test: figures stay hidden, too."""
        index = self.index
        return index is not None and self.tallies[index].block.cue is CueShare.NONE

    def after(self, verdict: Verdict) -> Course:
        """Count one rep."""
        index = self.index
        if index is None:
            return self
        tally = self.tallies[index]
        counted = replace(
            tally,
            n_swung=tally.n_swung + 1,
            n_judged=tally.n_judged + (verdict is not Verdict.UNKNOWN),
            n_in_band=tally.n_in_band + (verdict is Verdict.IN_BAND),
            n_cued=tally.n_cued + self.cued,
        )
        return replace(self, tallies=(*self.tallies[:index], counted, *self.tallies[index + 1 :]))
