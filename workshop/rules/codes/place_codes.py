"""Codes of places: scanned like those of lots, and never taken for one."""

from collections.abc import Callable

from workshop.rules.codes.lot_codes import LOT_ALPHABET, check_character, normalise_code

# A lot's code has no L, so that no place can be misread as a lot.
START = "PL"
DRAWN = 3
PLACE_CODE_LENGTH = len(START) + DRAWN + 1


def make_place_code(draw: Callable[[int], int]) -> str:
    """Return a fresh code of a place: PL, three drawn characters and their check character.

    Units: `draw(n)` gives a whole number from 0 to n - 1. Error: none; one whose check character
    could be misread is drawn again. Source: ISO/IEC 7064 MOD 37,36; the rest is our own choice.

    >>> make_place_code(lambda n: 1)
    'PL3336'
    """
    while True:
        payload = START + "".join(LOT_ALPHABET[draw(len(LOT_ALPHABET))] for _ in range(DRAWN))
        check = check_character(payload)
        if check in LOT_ALPHABET:
            return payload + check


def is_place_code(text: str) -> bool:
    """Say whether `text`, however spaced, is a place's code with the right check character.

    >>> is_place_code("pl 3336"), is_place_code("PL3337"), is_place_code("ABCD-EFC")
    (True, False, False)
    """
    code = normalise_code(text)
    if len(code) != PLACE_CODE_LENGTH or not code.startswith(START):
        return False
    drawn = code[len(START) :]
    return all(one in LOT_ALPHABET for one in drawn) and check_character(code[:-1]) == code[-1]
