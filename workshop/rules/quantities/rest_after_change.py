"""Other shares in a formula: what the rest does when some of it is changed."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from workshop.rules.errors import RuleError
from workshop.rules.quantities.scaling import apportion
from workshop.rules.quantities.whole_shares import STEP

WHOLE = Decimal(100)


def with_the_rest(
    shares: Sequence[Decimal], changed: Mapping[int, Decimal], gives_way: int | None = None
) -> list[Decimal]:
    """Return the shares once those at some places are changed; together exactly 100.

    The rest follows in the proportion in which it stood, or the line at `gives_way` alone takes
    up the difference and all others stay.

    Units: percent, to four decimals. Error: none at a changed line or one that stays; below
        0.0001 each where the rest follows. Source: method of largest remainders, as `apportion`.
    Raises: RuleError when the changed shares are not between 0 and 100, leave less than nothing
        for the rest, or there is no rest to follow.

    >>> shares = [Decimal(50), Decimal(30), Decimal(20)]
    >>> [str(one) for one in with_the_rest(shares, {0: Decimal(40)})]
    ['40', '36.0000', '24.0000']
    >>> [str(one) for one in with_the_rest(shares, {0: Decimal(40)}, gives_way=2)]
    ['40', '30', '30']
    """
    if any(not 0 <= share <= WHOLE for share in changed.values()):
        raise RuleError("A share lies between 0 and 100 %.")
    if gives_way is not None and gives_way not in changed:
        return _one_gives_way(shares, changed, gives_way)
    left = WHOLE - sum(changed.values(), Decimal(0))
    rest = [place for place, share in enumerate(shares) if place not in changed and share > 0]
    if left < 0:
        raise RuleError("These shares are more than 100 % together.")
    if not rest:
        if left:
            raise RuleError(f"{left.normalize():f} % is missing, and no other line can follow.")
        return [changed.get(place, Decimal(0)) for place in range(len(shares))]
    followed = apportion(left, [Fraction(shares[place]) for place in rest], STEP)
    found = dict(zip(rest, followed, strict=True)) | dict(changed)
    return [found.get(place, share) for place, share in enumerate(shares)]


def _one_gives_way(
    shares: Sequence[Decimal], changed: Mapping[int, Decimal], gives_way: int
) -> list[Decimal]:
    found = [changed.get(place, share) for place, share in enumerate(shares)]
    others = sum((one for place, one in enumerate(found) if place != gives_way), Decimal(0))
    if others > WHOLE:
        over = others - WHOLE
        raise RuleError(
            f"The line that gives way would have {over.normalize():f} % less than nothing. "
            "Let the rest follow, or choose another line."
        )
    found[gives_way] = WHOLE - others
    return found
