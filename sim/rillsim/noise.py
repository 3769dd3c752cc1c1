"""Chance as a function of the tick: what is drawn never depends on who asked first.

Each stream is cut into chunks, and each chunk comes from its own Philox generator keyed by
(seed, stream, chunk): Salmon et al., "Parallel random numbers: as easy as 1, 2, 3", SC11.
"""

import numpy as np

CHUNK_BITS = 8
CHUNK_TICKS = 1 << CHUNK_BITS
CHUNK_MASK = CHUNK_TICKS - 1
PIECE_BITS = 4
PIECE_MASK = (1 << PIECE_BITS) - 1
"""A chunk is drawn whole, and made numbers of piece by piece: a board that naps looks once."""

SENSORS, CONTACT, WIRES, TOLERANCES, CLOCK, SECOND_CONTACT, METER = range(7)
"""The streams of one plant."""

_MASK_64 = (1 << 64) - 1


def generator(seed: int, stream: int, chunk: int = 0) -> np.random.Generator:
    """The generator of one chunk of one stream.

    >>> float(generator(7, SENSORS, 3).random()) == float(generator(7, SENSORS, 3).random())
    True
    """
    key = np.array([seed & _MASK_64, (stream << 48) | chunk], dtype=np.uint64)
    return np.random.Generator(np.random.Philox(key=key))


def within_two(deviations: float) -> float:
    """A part further off than two deviations does not leave the factory."""
    return min(max(deviations, -2.0), 2.0)


class _Chunks:
    """The generators of one stream, all through one object: turning its key is quick."""

    def __init__(self, seed: int, stream: int) -> None:
        self._generator = generator(seed, stream)
        self._state = self._generator.bit_generator.state
        self._first = stream << 48

    def turn_to(self, chunk: int) -> np.random.Generator:
        """The generator of a chunk, as good as new.

        >>> chunks = _Chunks(7, SENSORS)
        >>> _ = chunks.turn_to(5).random(3)
        >>> float(chunks.turn_to(3).random()) == float(generator(7, SENSORS, 3).random())
        True
        """
        self._state["state"]["key"][1] = self._first | chunk
        self._generator.bit_generator.state = self._state
        return self._generator


class NormalStream:
    """Standard normal draws for several channels, one a tick each.

    ``rows`` holds the channels of the piece of a chunk that ``load`` made current; a hot loop
    indexes it with ``n & PIECE_MASK`` and calls ``load`` only when ``n >> PIECE_BITS`` changes.
    """

    def __init__(self, seed: int, stream: int, channels: int) -> None:
        self._chunks = _Chunks(seed, stream)
        self._shape = (channels, CHUNK_TICKS)
        self._chunk = -1
        self._drawn = np.zeros(self._shape)
        self.piece = -1
        self.rows: list[list[float]] = []

    def load(self, piece: int) -> None:
        """Make ``piece`` current."""
        chunk = piece >> CHUNK_BITS - PIECE_BITS
        if chunk != self._chunk:
            self._drawn = self._chunks.turn_to(chunk).standard_normal(self._shape)
            self._chunk = chunk
        first = (piece << PIECE_BITS) & CHUNK_MASK
        self.rows = self._drawn[:, first : first + PIECE_MASK + 1].tolist()
        self.piece = piece


class UniformStream:
    """One uniform draw in 0 to 1 a tick."""

    def __init__(self, seed: int, stream: int) -> None:
        self._chunks = _Chunks(seed, stream)
        self._chunk = -1
        self._row: list[float] = []

    def at(self, n: int) -> float:
        """The draw of tick ``n``."""
        chunk = n >> CHUNK_BITS
        if chunk != self._chunk:
            self._row = self._chunks.turn_to(chunk).random(CHUNK_TICKS).tolist()
            self._chunk = chunk
        return self._row[n & CHUNK_MASK]
