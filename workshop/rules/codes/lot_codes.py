"""Lot codes with a check character, and near misses for a misread one."""

from collections.abc import Callable, Iterable, Iterator
from itertools import combinations, product

from workshop.rules.errors import RuleError

# No 0, 1, I, L, O or U: these are the ones people misread on a smeared tag.
LOT_ALPHABET = "23456789ABCDEFGHJKMNPQRSTVWXYZ"
PAYLOAD_LENGTH = 6
CODE_LENGTH = PAYLOAD_LENGTH + 1
NEAR_MISS_LIMIT = 60

ISO_ALPHABET = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
LOOK_ALIKES = ("0ODQ", "1IL7", "2Z", "5S", "8B", "UV", "6G", "CG", "MN")
# Folding more characters than this at once is guessing, not reading.
MOST_FOLDS = 3
# Hyphens, dashes, the minus sign, spaces and full stops.
SKIPPED = str.maketrans("", "", "-\u2010\u2011\u2012\u2013\u2014\u2212_. \t\r\n\u00a0\u2009\u202f")


def check_character(payload: str) -> str:
    """Return the check character that completes `payload`.

    Units: `payload` is any run of the characters 0-9 and A-Z.
    Error: none; every single wrong character and nearly every swap of two is found.
    Source: ISO/IEC 7064, hybrid system MOD 37,36.
    Raises: RuleError when a character is outside 0-9 and A-Z, or there is none.

    >>> check_character("A12425GABC1234002")
    'M'
    >>> check_character("ABCDEF")
    'C'
    """
    if not payload or any(character not in ISO_ALPHABET for character in payload):
        raise RuleError("A code has only the digits 0 to 9 and the letters A to Z.")
    modulus = len(ISO_ALPHABET)
    carry = modulus
    for character in payload:
        total = (carry + ISO_ALPHABET.index(character)) % modulus or modulus
        carry = total * 2 % (modulus + 1)
    return ISO_ALPHABET[(modulus + 1 - carry) % modulus]


def make_lot_code(draw: Callable[[int], int]) -> str:
    """Return a fresh lot code: six drawn characters and their check character.

    Units: `draw(n)` gives a whole number from 0 to n - 1 (`secrets.randbelow`, say).
    Error: none; a payload whose check character could be misread is drawn again,
        so that the code follows the standard and stays unambiguous.
    Source: ISO/IEC 7064 MOD 37,36; the alphabet is our own choice.
    Raises: nothing of its own.

    >>> make_lot_code(lambda n: 0)
    '2222227'
    """
    while True:
        payload = "".join(LOT_ALPHABET[draw(len(LOT_ALPHABET))] for _ in range(PAYLOAD_LENGTH))
        check = check_character(payload)
        if check in LOT_ALPHABET:
            return payload + check


def normalise_code(text: str) -> str:
    """Return `text` as a code is kept: capitals, without spaces, hyphens and dots.

    Nothing is folded: a 0 typed for a Q stays a 0, and `near_misses` offers the Q.

    >>> normalise_code(" 7hw4-q2k ")
    '7HW4Q2K'
    """
    return text.upper().translate(SKIPPED)


def is_lot_code(text: str) -> bool:
    """Say whether `text`, however spaced, is a lot code with the right check character.

    >>> is_lot_code("abcd-efc"), is_lot_code("ABCDEFD"), is_lot_code("")
    (True, False, False)
    """
    code = normalise_code(text)
    if len(code) != CODE_LENGTH or any(character not in LOT_ALPHABET for character in code):
        return False
    return check_character(code[:-1]) == code[-1]


def show_lot_code(code: str) -> str:
    """Return `code` in the form that is printed and read out: four, a hyphen, three.

    >>> show_lot_code("ABCDEFC")
    'ABCD-EFC'
    """
    return f"{code[:4]}-{code[4:]}" if len(code) == CODE_LENGTH else code


def near_misses(text: str) -> list[str]:
    """Return the valid lot codes that `text` may have been meant as, likeliest first.

    Look-alike readings come first (fewest folds first), then two neighbours swapped, one
    character wrong, one left out, one too many. `text` itself is never among them.

    Units: codes without hyphen, as `normalise_code` leaves them.
    Error: the right code is found for one wrong, missing, extra or swapped character and for
        up to three look-alikes; at most `NEAR_MISS_LIMIT` codes, so one lookup can take them.
    Source: common practice, no source.
    Raises: nothing; a text of any other length has no near miss.

    >>> near_misses("ABCDEFG")[0], near_misses("a8cdefc")[0], near_misses("ABCD")
    ('ABCDEFC', 'ABCDEFC', [])
    """
    code = normalise_code(text)
    if not CODE_LENGTH - 1 <= len(code) <= CODE_LENGTH + 1:
        return []
    found: dict[str, None] = {}
    for candidate in _candidates(code):
        if candidate != code and is_lot_code(candidate):
            found.setdefault(candidate)
    return list(found)[:NEAR_MISS_LIMIT]


def _candidates(code: str) -> Iterator[str]:
    if len(code) == CODE_LENGTH - 1:
        yield from _inserted(code)
    elif len(code) == CODE_LENGTH + 1:
        yield from (code[:place] + code[place + 1 :] for place in range(len(code)))
    else:
        yield from _folded(code)
        yield from _swapped(code)
        yield from _substituted(code)


def _looks_like(character: str) -> list[str]:
    groups = [group for group in LOOK_ALIKES if character in group]
    others = {other for group in groups for other in group if other in LOT_ALPHABET}
    return sorted(others - {character})


def _folded(code: str) -> Iterator[str]:
    """Yield `code` with one to three characters read as their look-alikes."""
    # A character outside the alphabet was certainly misread, so it is always folded.
    misread = [place for place, character in enumerate(code) if character not in LOT_ALPHABET]
    open_to_doubt = [place for place in range(len(code)) if place not in misread]
    for extra in range(max(0, MOST_FOLDS - len(misread)) + 1):
        for chosen in combinations(open_to_doubt, extra):
            yield from _replaced(code, [*misread, *chosen])


def _replaced(code: str, places: Iterable[int]) -> Iterator[str]:
    readings = [[character] for character in code]
    for place in places:
        readings[place] = _looks_like(code[place])
    return ("".join(letters) for letters in product(*readings))


def _swapped(code: str) -> Iterator[str]:
    for place in range(len(code) - 1):
        left, right = code[place], code[place + 1]
        yield code[:place] + right + left + code[place + 2 :]


def _substituted(code: str) -> Iterator[str]:
    for place in range(len(code)):
        for letter in LOT_ALPHABET:
            yield code[:place] + letter + code[place + 1 :]


def _inserted(code: str) -> Iterator[str]:
    for place in range(len(code) + 1):
        for letter in LOT_ALPHABET:
            yield code[:place] + letter + code[place:]
