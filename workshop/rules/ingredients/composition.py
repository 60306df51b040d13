"""What is really in a lot: exact shares of INCI constituents, through any depth of lots."""

from collections.abc import Callable, Container, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal, TypeVar

from workshop.rules.errors import RuleError

Weight = Fraction | Decimal | int
Kind = Literal["plain", "water", "salt", "alkali", "colourant", "fragrance", "flavour", "extract"]
Lot = TypeVar("Lot", bound=Hashable)


@dataclass(frozen=True)
class Constituent:
    """One ingredient as a label names it.

    `kind` decides where it stands in the list and whether it counts for the organic share. An
    extract is what a plant left in the oil that it was strained out of: it is named, and weighs
    nothing that could be measured, so its share may be none. `soap_name` is what a fat is called
    once it is saponified ("Sodium Olivate").
    `status` is what it is under the organic scheme of the label where it is not organic
    (`workshop/rules/organic/non_organic_rest.py`), empty where nobody has said; `prohibited_for` is
    why, where it is prohibited.
    """

    inci_name: str
    common_name: str = ""
    kind: Kind = "plain"
    is_organic: bool = False
    is_nano: bool = False
    soap_name: str = ""
    status: str = ""
    prohibited_for: str = ""


Composition = Mapping[Constituent, Fraction]


def compose(inputs: Iterable[tuple[Weight, Composition]]) -> dict[Constituent, Fraction]:
    """Return the exact shares of everything in a mixture, greatest first.

    An extract is kept also where its share is none; a strained-out input weighs nothing.

    Units: weights in any one unit; shares are fractions of the whole, adding up to 1 when each
        input's shares do.
    Error: none, fractions throughout.
    Source: shares by weight at the time of addition (Regulation (EC) 1223/2009, article 19(1)(g)).
    Raises: RuleError when a weight is below zero or all are zero.

    >>> oil, wax = Constituent("Oil"), Constituent("Wax")
    >>> blend = {oil: Fraction(1, 2), wax: Fraction(1, 2)}
    >>> [str(share) for share in compose([(30, {oil: Fraction(1)}), (10, blend)]).values()]
    ['7/8', '1/8']
    """
    weighed = [(Fraction(weight), composition) for weight, composition in inputs]
    total = sum((weight for weight, _ in weighed), Fraction())
    if total <= 0 or any(weight < 0 for weight, _ in weighed):
        raise RuleError("A mixture needs inputs that weigh something, and none below zero.")
    parts: dict[Constituent, Fraction] = {}
    for weight, composition in weighed:
        for constituent, share in composition.items():
            parts[constituent] = parts.get(constituent, Fraction()) + weight * share
    greatest_first = sorted(parts.items(), key=lambda part: (-part[1], part[0].inci_name))
    return {
        constituent: part / total
        for constituent, part in greatest_first
        if part or constituent.kind == "extract"
    }


def extract_of(stays: str, herb: Composition) -> dict[Constituent, Fraction]:
    """Return what a strained-out plant leaves, as a composition to be mixed in with no weight.

    It is organic where all of the plant was, and else has the status of what was not.

    Units, error, raises: none.
    Source: a plant soaked in oil and strained out is an ingredient beside the oil, named as an
        extract, at 1 % or less (Handcrafted Soap and Cosmetic Guild, resource centre 264).

    >>> herb = {Constituent("Calendula Officinalis Flower"): Fraction(1)}
    >>> oil = {Constituent("Olive Oil"): Fraction(1)}
    >>> mixed = compose([(80, oil), (0, extract_of("Calendula Officinalis Flower Extract", herb))])
    >>> [(part.inci_name, str(share)) for part, share in mixed.items()]
    [('Olive Oil', '1'), ('Calendula Officinalis Flower Extract', '0')]
    """
    is_organic = bool(herb) and all(part.is_organic for part in herb)
    status = next((part.status for part in herb if not part.is_organic), "")
    return {Constituent(stays, kind="extract", is_organic=is_organic, status=status): Fraction(1)}


def flatten_tree(
    lot: Lot,
    inputs_of: Callable[[Lot], Iterable[tuple[Lot, Weight]]],
    leaf_composition: Callable[[Lot], Composition],
) -> dict[Constituent, Fraction]:
    """Return the composition of `lot`, through every in-house lot that went into it.

    `inputs_of` gives the lots and weights that a lot was made from, none for a bought lot;
    `leaf_composition` gives the shares in a bought lot. Each lot is looked at once.

    Units: weights in any one unit; shares are fractions of the whole.
    Error: none. Source: as `compose`.
    Raises: RuleError when lots were made from each other in a loop, or as `compose`.

    >>> oil, herb = Constituent("Oil"), Constituent("Herb")
    >>> made_from = {"balm": [("infusion", 9), ("oil", 1)], "infusion": [("oil", 8), ("herb", 2)]}
    >>> bought = {"oil": {oil: Fraction(1)}, "herb": {herb: Fraction(1)}}
    >>> flat = flatten_tree("balm", lambda lot: made_from.get(lot, []), bought.__getitem__)
    >>> [(part.inci_name, str(share)) for part, share in flat.items()]
    [('Oil', '41/50'), ('Herb', '9/50')]
    """
    return flatten_trees([lot], inputs_of, leaf_composition)[lot]


def flatten_trees(
    lots: Iterable[Lot],
    inputs_of: Callable[[Lot], Iterable[tuple[Lot, Weight]]],
    leaf_composition: Callable[[Lot], Composition],
) -> dict[Lot, dict[Constituent, Fraction]]:
    """Return the composition of each lot, and of every lot behind them, each worked out once.

    Units, error, source and raises: as `flatten_tree`.

    >>> made_from = {"a": [("c", 1)], "b": [("c", 1)]}
    >>> oil = {Constituent("Oil"): Fraction(1)}
    >>> list(flatten_trees(["a", "b"], lambda lot: made_from.get(lot, []), lambda _: oil))
    ['c', 'a', 'b']
    """
    known: dict[Lot, dict[Constituent, Fraction]] = {}

    def unknown_inputs(lot: Lot) -> Iterable[tuple[Lot, Weight]]:
        return () if lot in known else inputs_of(lot)

    for lot in lots:
        for each, inputs in inputs_first(lot, unknown_inputs):
            if each in known:
                continue
            if inputs:
                known[each] = compose((weight, known[source]) for source, weight in inputs)
            else:
                known[each] = dict(leaf_composition(each))
    return known


def lot_shares(
    lot: Lot,
    inputs_of: Callable[[Lot], Iterable[tuple[Lot, Weight]]],
    strained: Container[tuple[Lot, Lot]] = (),
) -> dict[Lot, Fraction]:
    """Return what share of `lot` came from each lot behind it, itself (1) included.

    Shares of lots at one level add up to 1; a lot that came in by two routes has their sum.
    `strained` names, by what was made and what went in, the inputs that were strained out again.
    They come on top of the 1, with the weight that they had against what stayed: that much of
    what was in them may have stayed at the most.

    Units: fractions of the whole. Error: none. Source: as `compose`.
    Raises: as `flatten_tree`.

    >>> made_from = {"balm": [("infusion", 9), ("oil", 1)], "infusion": [("oil", 8), ("herb", 2)]}
    >>> shares = lot_shares("balm", lambda lot: made_from.get(lot, []))
    >>> {lot: str(share) for lot, share in shares.items()}
    {'balm': '1', 'infusion': '9/10', 'oil': '41/50', 'herb': '9/50'}
    """
    shares = {lot: Fraction(1)}
    for each, inputs in reversed(list(inputs_first(lot, inputs_of))):
        stayed = sum((w for source, w in inputs if (each, source) not in strained), Fraction())
        total = stayed or sum((weight for _, weight in inputs), Fraction())
        for source, weight in inputs:
            shares[source] = shares.get(source, Fraction()) + shares[each] * weight / total
    return shares


def inputs_first(
    lot: Lot, inputs_of: Callable[[Lot], Iterable[tuple[Lot, Weight]]]
) -> Iterator[tuple[Lot, list[tuple[Lot, Fraction]]]]:
    """Yield every lot behind `lot` with its inputs, each after all of its own inputs.

    A stack of our own instead of recursion, so that a chain of thousands of lots is no trouble.
    """
    done: set[Lot] = set()
    open_lots: dict[Lot, list[tuple[Lot, Fraction]]] = {}
    stack = [lot]
    while stack:
        each = stack[-1]
        if each in done:
            stack.pop()
        elif each in open_lots:
            stack.pop()
            done.add(each)
            yield each, open_lots.pop(each)
        else:
            inputs = [(source, Fraction(weight)) for source, weight in inputs_of(each)]
            _check_inputs(each, inputs, open_lots)
            open_lots[each] = inputs
            stack.extend(source for source, _ in reversed(inputs) if source not in done)


def _check_inputs(
    lot: Lot, inputs: list[tuple[Lot, Fraction]], open_lots: Mapping[Lot, object]
) -> None:
    for source, weight in inputs:
        if source == lot or source in open_lots:
            raise RuleError(f"Lot {source} was made from itself, by way of lot {lot}.")
        if weight < 0:
            raise RuleError(f"Lot {lot} holds less than nothing of lot {source}.")
    if inputs and not any(weight for _, weight in inputs):
        raise RuleError(f"Lot {lot} was made from inputs that weigh nothing.")
