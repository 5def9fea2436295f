"""A bounded window of means: one sensor's readings gathered into equal blocks of time.

Means of blocks lose noise that single readings keep, and a sensor that talks each minute costs no more than an hourly
one.
"""

from dataclasses import dataclass, field


@dataclass(slots=True)
class Block:
    """The readings of one block of time: its number, how many they are, their mean time (ms) and mean value."""

    number: int
    n: int
    at_ms: float
    value: float


@dataclass(slots=True)
class Blocks:
    """The last blocks that hold readings, oldest first."""

    blocks: list[Block] = field(default_factory=list)


def gather(blocks: Blocks, at_ms: int, value: float, *, block_ms: int, span_ms: int) -> bool:
    """Add a reading that is not older than those before it.

    Returns:
        Whether it opened a new block, so that the one before it is complete.
    """
    kept = blocks.blocks
    number = at_ms // block_ms
    if kept and kept[-1].number >= number:
        block = kept[-1]
        block.n += 1
        block.at_ms += (at_ms - block.at_ms) / block.n
        block.value += (value - block.value) / block.n
        return False
    oldest = number - span_ms // block_ms
    while kept and kept[0].number < oldest:
        del kept[0]
    kept.append(Block(number, 1, float(at_ms), value))
    return True


def merge(blocks: Blocks, part: Block, *, block_ms: int, span_ms: int) -> bool:
    """Add a complete block of a shorter kind, whose length divides this one's.

    Returns:
        Whether it opened a new block, so that the one before it is complete.
    """
    kept = blocks.blocks
    number = int(part.at_ms) // block_ms
    if kept and kept[-1].number >= number:
        block = kept[-1]
        block.n += part.n
        share = part.n / block.n
        block.at_ms += (part.at_ms - block.at_ms) * share
        block.value += (part.value - block.value) * share
        return False
    oldest = number - span_ms // block_ms
    while kept and kept[0].number < oldest:
        del kept[0]
    kept.append(Block(number, part.n, part.at_ms, part.value))
    return True


def complete(blocks: Blocks) -> list[Block]:
    """Give the blocks that nothing will be added to: all but the newest."""
    return blocks.blocks[:-1]
