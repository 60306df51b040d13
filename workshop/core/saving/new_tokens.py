"""Draws new tokens, by which a form, reading or posting that arrives twice is known.

What becomes of a form's second arrival is in `form_sent_twice.py`; of a reading's in
`kettle/services/record_weighing.py`; of a posting's in `ledger/services/postings.py`.
"""

import secrets
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from hashlib import sha256

Draw = Callable[[int], int]
_draw: ContextVar[Draw] = ContextVar("draw", default=secrets.randbelow)


def new_token() -> str:
    return f"{_draw.get()(2**128):032x}"


def derive_key(token: str, part: object) -> str:
    """A token for one part of an act that has one token; never longer than the column."""
    return sha256(f"{token}:{part}".encode()).hexdigest()


@contextmanager
def tokens_drawn_by(draw: Draw) -> Iterator[None]:
    """Draw tokens from `draw` until the block ends, so that a made-up history can be repeated."""
    before = _draw.set(draw)
    try:
        yield
    finally:
        _draw.reset(before)
