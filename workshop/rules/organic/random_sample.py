"""Lots drawn by chance, so that both sides can see it and draw again."""

from collections.abc import Iterable
from hashlib import sha256


def drawn(codes: Iterable[str], seed: str, count: int) -> list[str]:
    """Return `count` of the codes, or all where there are fewer: those whose digest comes first.

    Each code is put behind the seed with a slash between and digested by SHA-256, so anybody can
    repeat the draw with the seed and the codes alone.

    Units: none. Error: none. Raises: nothing.
    Source: simple random sampling by a keyed hash, common practice, no source.

    >>> drawn(["AAAA-222", "BBBB-333", "CCCC-444"], "spring", 1)
    ['BBBB-333']
    >>> drawn(["CCCC-444", "AAAA-222", "BBBB-333"], "spring", 1)
    ['BBBB-333']
    """
    ordered = sorted(set(codes), key=lambda code: sha256(f"{seed}/{code}".encode()).hexdigest())
    return ordered[:count]
