"""Two outcomes beside one another, in the words and figures of the page."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from itertools import zip_longest

from django.utils.safestring import SafeString

from workshop.core.errors import ActionRefused
from workshop.core.formatting import THIN, day, number, percent, with_unit
from workshop.costs import figures
from workshop.kettle.adjustments.melting_range import TRY_IT, range_of
from workshop.kettle.adjustments.use_limits import LimitRow, naming_row, skin_row
from workshop.labels.models import LabelVersion
from workshop.ledger.models import Lot
from workshop.rules.allergens.thresholds import Naming, allergen_limit_problems, namings
from workshop.rules.ingredients.organic_share import MADE_WITH_FROM, ORGANIC_FROM
from workshop.rules.money.lot_costs import UnitCost
from workshop.rules.quantities.units import round_to
from workshop.workbench.gauges import gauge
from workshop.workbench.outcome import Outcome
from workshop.workbench.trial import TriedLine

NOTHING = "–"
MOST_NAMED = 4
MOST_TOLD = 3
CATEGORIES = {
    "100 percent organic": "“100 percent organic”",
    "organic": "“organic”",
    "made with organic": "“made with organic”",
    "below 70": "organic ingredients marked in the list only",
    "none": "nothing organic",
}


@dataclass(frozen=True)
class Figure:
    """One figure as approved and as tried, with what to know of it; `minds` are warnings."""

    name: str
    was: str
    now: str
    picture: SafeString
    told: Sequence[str] = ()
    minds: Sequence[str] = ()
    reasons: Sequence[str] = ()


@dataclass(frozen=True)
class ListRow:
    """A name of the ingredient list and where it stood: moved up, moved down, new, gone."""

    place: int | None
    name: str
    change: str = ""
    is_gone: bool = False


@dataclass(frozen=True)
class MarketList:
    market: str
    was: list[str]
    now: list[ListRow]
    trouble: str = ""
    warnings: Sequence[str] = ()

    @property
    def is_changed(self) -> bool:
        return any(row.change for row in self.now)


@dataclass(frozen=True)
class LabelRow:
    """An approved label with what would be untrue of it only now, and what is so already."""

    version: LabelVersion
    new: list[str]
    already: list[str]
    trouble: str = ""
    # Printed with it, on hand.
    rolls: Sequence[Lot] = ()

    @property
    def is_untrue(self) -> bool:
        return bool(self.new)


@dataclass(frozen=True)
class Compared:
    """All that the right column and the tables below it show."""

    sentence: str
    changes: list[str]
    figures: list[Figure]
    limits: list[LimitRow]
    limit_problems: list[str]
    scales: list[tuple[str, str, str]]
    melting: list[str]
    lists: list[MarketList]
    labels: list[LabelRow]
    cautions: list[str] = field(default_factory=list)


def compared(
    was: Outcome,
    now: Outcome,
    currency: str | None,
    further: Sequence[tuple[Outcome, Outcome]] = (),
) -> Compared:
    """Both columns beside one another; `further` is what their bulk goes into."""
    labels = [row for pair in ((was, now), *further) for row in _labels(*pair)]
    names = namings(was.allergens, now.allergens, now.use, now.bench.on)
    return Compared(
        sentence=_sentence(was, now, currency, labels),
        changes=changes_told(was, now),
        figures=list(_figures(was, now, currency, names)),
        limits=_limits(was, now, names),
        limit_problems=_limit_problems(now),
        scales=_scales(was, now),
        melting=_melting(was, now),
        lists=_lists(was, now),
        labels=labels,
        cautions=[now.soap.caution] if now.soap else [],
    )


# ---- In a sentence -------------------------------------------------------------------------------


def _sentence(was: Outcome, now: Outcome, currency: str | None, labels: Sequence[LabelRow]) -> str:
    """What it does to the money and to the labels, in one sentence."""
    parts = []
    if currency:
        change = (now.bulk_cost.amount - was.bulk_cost.amount) * 1000
        amount = figures.amount(abs(change), currency)
        if figures.exact_amount(abs(change), currency):
            more = "more" if change > 0 else "less"
            parts.append(f"{amount} {currency} {more} a kilogram")
    untrue = sum(row.is_untrue for row in labels)
    if untrue:
        parts.append(f"{_count(untrue)} {'label' if untrue == 1 else 'labels'} untrue")
        dead = sum(len(row.rolls) for row in labels if row.is_untrue)
        if dead:
            parts.append(f"{_count(dead)} printed {'roll' if dead == 1 else 'rolls'} of no use")
    elif labels and changes_told(was, now):
        parts.append("every label stays true")
    return ", ".join(parts)


COUNTED = ("no", "one", "two", "three", "four", "five", "six")


def _count(number_of: int) -> str:
    return COUNTED[number_of] if number_of < len(COUNTED) else str(number_of)


def changes_told(was: Outcome, now: Outcome) -> list[str]:
    """What was changed in sentences: what comes and goes, then the largest changes of shares."""
    before = {line.item.pk: line for line in was.trial.lines}
    after = {line.item.pk: line for line in now.trial.lines}
    changes = [(before.get(key), after.get(key)) for key in {**before, **after}]
    told = [sentence for old, new in changes if (sentence := _come_or_gone(old, new))]
    moved_lines = [(old, new) for old, new in changes if old and new and old.share != new.share]
    moved_lines.sort(key=lambda pair: -abs(pair[0].share - pair[1].share))
    told += [
        f"{old.item} from {_share(old.share)} to {_share(new.share)}."
        for old, new in moved_lines[:MOST_TOLD]
    ]
    if len(moved_lines) > MOST_TOLD:
        told.append(f"{len(moved_lines) - MOST_TOLD} others follow.")
    told += _lots_told(was, now)
    old_g, new_g = was.trial.fill_g, now.trial.fill_g
    if old_g and new_g and old_g != new_g:
        told.append(f"A {with_unit(old_g, 'g')} fill becomes {with_unit(new_g, 'g')}.")
    return told


def _come_or_gone(old: TriedLine | None, new: TriedLine | None) -> str:
    if old is None and new is not None:
        return f"{new.item} comes in at {_share(new.share)}."
    return f"{old.item} goes out." if new is None and old is not None else ""


def _lots_told(was: Outcome, now: Outcome) -> Iterator[str]:
    before = {line.item.pk: was.known[place].parts for place, line in enumerate(was.trial.lines)}
    for place, line in enumerate(now.trial.lines):
        lots = [lot for lot, _ in now.known[place].parts]
        old = [lot for lot, _ in before.get(line.item.pk, [])]
        if line.lot is not None and old and lots and lots != old:
            yield f"{line.item} from lot {lots[0]} and not {old[0]}."


def _share(share: Decimal) -> str:
    return f"{number(share, most=4)}{THIN}%"


# ---- Figures on their beams ----------------------------------------------------------------------


def _figures(
    was: Outcome, now: Outcome, currency: str | None, names: Sequence[Naming]
) -> Iterator[Figure]:
    if currency:
        yield from _money(was, now, currency)
    yield _organic(was, now)
    yield from _superfat(was, now)
    yield from _crossing(names)
    yield _keeps(was, now)
    yield from _stock(was, now)


def _money(was: Outcome, now: Outcome, currency: str) -> Iterator[Figure]:
    old, new = was.bulk_cost, now.bulk_cost
    told = [] if new.is_whole else ["A price or the minutes are missing, so it is at least this."]
    yield Figure(
        f"Cost a kilogram, {currency}",
        _cost(old, currency, 1000),
        _cost(new, currency, 1000),
        gauge(old.amount * 1000, new.amount * 1000),
        told,
    )
    if was.unit_cost and now.unit_cost:
        unit_name = now.product.unit_name if now.product else "unit"
        yield Figure(
            f"Cost of a {unit_name}, {currency}",
            _cost(was.unit_cost, currency),
            _cost(now.unit_cost, currency),
            gauge(was.unit_cost.amount, now.unit_cost.amount),
            _fills(was, now),
        )
        yield from _margins(was, now)


def _fills(was: Outcome, now: Outcome) -> list[str]:
    fill, units = now.trial.fill_g, now.trial.units
    before = f", was {was.trial.units}" if was.trial.units != units else ""
    return [f"{units} of {with_unit(fill, 'g')} from this batch{before}, packed."] if fill else []


def _margins(was: Outcome, now: Outcome) -> Iterator[Figure]:
    """A margin is at most so much where a price is missing."""
    before = {one.channel: one.percent for one in was.margins}
    for one in now.margins:
        old = before.get(one.channel)
        yield Figure(
            f"Margin, {one.channel}",
            _at_most(old, was.unit_cost),
            _at_most(one.percent, now.unit_cost),
            gauge(old, one.percent),
        )


def _at_most(percent: Fraction | None, cost: UnitCost | None) -> str:
    if percent is None:
        return NOTHING
    most = "" if cost and cost.is_whole else "at most "
    return f"{most}{number(round_to(percent, Decimal('0.1')))}{THIN}%"


def _cost(cost: UnitCost, currency: str, units: int = 1) -> str:
    return figures.at_least(cost) + figures.amount(cost.amount * units, currency)


def _organic(was: Outcome, now: Outcome) -> Figure:
    old, new = was.organic, now.organic
    category = CATEGORIES[new.category]
    if old.category == new.category:
        told, minds = [f"Allows {category}, as before."], []
    else:
        told, minds = [], [f"Allows {category}, no longer {CATEGORIES[old.category]}."]
    return Figure(
        "Organic share",
        f"{old.percent}{THIN}%",
        f"{new.percent}{THIN}%",
        gauge(
            Fraction(old.percent),
            Fraction(new.percent),
            limits=(Fraction(MADE_WITH_FROM), Fraction(ORGANIC_FROM)),
        )
        if old.percent or new.percent
        else SafeString(""),
        told,
        minds,
        new.why_not,
    )


def _superfat(was: Outcome, now: Outcome) -> Iterator[Figure]:
    if not (was.soap or now.soap):
        return
    old = was.soap.superfat if was.soap else None
    new = now.soap.superfat if now.soap else None
    told = now.soap.told() if now.soap else ["There is no lye in it."]
    is_bad = bool(now.soap and now.soap.refusal)
    yield Figure(
        "Superfat",
        percent(old.usual) if old else NOTHING,
        percent(new.usual) if new else NOTHING,
        gauge(
            100 * old.usual if old else None,
            100 * new.usual if new else None,
        ),
        [] if is_bad else told,
        told if is_bad else [],
    )


def _crossing(names: Sequence[Naming]) -> Iterator[Figure]:
    """The allergens that pass their threshold or fall below it."""
    for one in [name for name in names if name.is_named != name.was_named][:MOST_NAMED]:
        limit = percent(one.threshold, 4)
        word = "must then be named" if one.is_named else "is named no longer"
        sentence = f"Above {limit} it is named on EU and UK labels: it {word}."
        yield Figure(
            one.name,
            percent(one.before, 4),
            percent(one.after, 4),
            gauge(100 * one.before, 100 * one.after, limits=(100 * one.threshold,)),
            [] if one.is_named else [sentence],
            [sentence] if one.is_named else [],
        )


def _keeps(was: Outcome, now: Outcome) -> Figure:
    old, new, on = was.due, now.due, now.bench.on
    days = [Fraction((due - on).days) if due else None for due in (old, new)]
    told = f"Packed today; {now.binding_lot} is the limit." if now.binding_lot else ""
    shorter = bool(old and new and new < old)
    return Figure(
        "Best before",
        day(old) if old else NOTHING,
        day(new) if new else NOTHING,
        gauge(days[0], days[1]),
        [told] if told and not shorter else [],
        [told or "It keeps less long than before."] if shorter else [],
    )


def _stock(was: Outcome, now: Outcome) -> Iterator[Figure]:
    old, new = was.batches_in_stock, now.batches_in_stock
    if old is None or new is None:
        return
    batches, item = new
    size = with_unit(now.trial.batch_g, "g")
    ends = f"{item} runs out first." if batches else f"There is not enough {item} for one."
    yield Figure(
        "Batches in stock",
        str(old[0]),
        str(batches),
        gauge(Fraction(old[0]), Fraction(batches)),
        [f"Of {size}. {ends}"] if batches else [],
        [] if batches else [f"Of {size}. {ends}"],
    )


# ---- Limits, scales, melting ---------------------------------------------------------------------


def _limits(was: Outcome, now: Outcome, names: Sequence[Naming]) -> list[LimitRow]:
    """Use levels of what is in either, then every allergen."""
    limits = now.bench.bounds.skin_limits
    shares = zip(limits, was.skin_shares, now.skin_shares, strict=True)
    return [
        *(skin_row(limit, old, new) for limit, old, new in shares if old or new),
        *(naming_row(one, now.use) for one in names),
    ]


def _limit_problems(now: Outcome) -> list[str]:
    above = [
        f"{limit.name} would be {percent(share, 4)}, above its limit of "
        f"{percent(Fraction(limit.most), 4)}."
        for limit, share in zip(now.bench.bounds.skin_limits, now.skin_shares, strict=True)
        if share > limit.most
    ]
    return above + allergen_limit_problems(now.allergens)


def _scales(was: Outcome, now: Outcome) -> list[tuple[str, str, str]]:
    """The smallest batch that each scale can weigh line by line, before and after."""
    return [
        (scale.name, _least(was.smallest_batch_g(scale)), _least(now.smallest_batch_g(scale)))
        for scale in now.bench.scales
    ]


def _least(grams: Decimal | None) -> str:
    return with_unit(grams, "g") if grams is not None else "none"


def _melting(was: Outcome, now: Outcome) -> list[str]:
    """The melting ranges of what comes in, goes out or changes, where they are known."""
    before = {line.item: line.share for line in was.trial.lines}
    after = {line.item: line.share for line in now.trial.lines}
    told = [
        f"{item}, {melts}: {_share(before[item]) if item in before else NOTHING} becomes "
        f"{_share(after[item]) if item in after else NOTHING}."
        for item in {**before, **after}
        if (melts := range_of(item)) and before.get(item) != after.get(item)
    ]
    return [*told, TRY_IT] if told else []


# ---- Lists and labels ----------------------------------------------------------------------------


def _lists(was: Outcome, now: Outcome) -> list[MarketList]:
    product = now.trial.product
    if product is None:
        return []
    found = []
    for market in now.markets:
        try:
            old = was.wording(product, market).declaration.entries
            words = now.wording(product, market)
        except ActionRefused as refused:
            found.append(MarketList(market, [], [], refused.message))
            continue
        before = [one.text for one in old]
        after = [one.text for one in words.declaration.entries]
        warnings = (*words.stops, *words.warnings)
        found.append(MarketList(market, before, moved(before, after), "", warnings))
    return found


def moved(before: Sequence[str], after: Sequence[str]) -> list[ListRow]:
    """The later list, with each name that stands elsewhere than before, is new or is gone.

    Only what was overtaken has moved: a name that another one pushed along has not. An organic
    mark that comes or goes is told.
    """
    plain = {one.rstrip("*"): one for one in before}
    old = [name for name in plain if name in {one.rstrip("*") for one in after}]
    kept = [one.rstrip("*") for one in after if one.rstrip("*") in plain]
    rows = []
    for place, text in enumerate(after, start=1):
        name = text.rstrip("*")
        if name not in plain:
            rows.append(ListRow(place, text, "new"))
        else:
            rows.append(ListRow(place, text, _moved(name, old, kept) or _mark(plain[name], text)))
    gone = [text for name, text in plain.items() if name not in set(kept)]
    return [*rows, *(ListRow(None, text, "gone", is_gone=True) for text in gone)]


def _moved(name: str, old: Sequence[str], kept: Sequence[str]) -> str:
    was, now = old.index(name), kept.index(name)
    if was == now:
        return ""
    return f"▲ from {was + 1}" if now < was else f"▼ from {was + 1}"


def _mark(old: str, new: str) -> str:
    if old == new:
        return ""
    return "now marked organic" if new.endswith("*") else "organic no longer"


def _labels(was: Outcome, now: Outcome) -> list[LabelRow]:
    rows = []
    for old, new in zip_longest(was.labels, now.labels):
        known = {one.sentence for one in old.untrue}
        fresh = [one.sentence for one in new.untrue if one.sentence not in known]
        already = [one.sentence for one in new.untrue if one.sentence in known]
        rolls = now.bench.rolls.get(new.version.pk, ())
        rows.append(LabelRow(new.version, fresh, already, new.trouble, rolls))
    return rows
