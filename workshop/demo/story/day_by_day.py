"""The history, day by day."""

from collections.abc import Iterator, Sequence
from datetime import date
from decimal import Decimal
from random import Random

from workshop.core.formatting import day as shown_day
from workshop.core.saving.new_tokens import tokens_drawn_by
from workshop.demo.story import (
    buying,
    complaining,
    filling,
    labelling,
    making,
    mishaps,
    money,
    opening,
    owner_decisions,
    racks,
    reviewing,
    selling,
)
from workshop.demo.story.clock import Clock, work_days
from workshop.demo.story.planning import terms_and_orders as planning
from workshop.demo.story.recalls import recall_drills, recalling
from workshop.demo.story.stores import counting
from workshop.demo.story.story_state import DAYS, Book, Evenly, Turns
from workshop.demo.tables.recipes import INFUSION, RECIPES, SALVE
from workshop.goods_in.models import Certificate
from workshop.kettle.models import Batch
from workshop.rules.dates.calendar_days import add_months

MONTHS = 18
BATCHES, DISPATCHES = 405, 1500


def new_book(*, seed: int, until: date, months: int = MONTHS) -> Book:
    # Not for secrets: the same seed must tell the same story.
    story, codes = Random(f"story {seed}"), Random(f"codes {seed}")  # noqa: S311
    return Book(story, codes.randrange, start=add_months(until, -months), until=until)


def days_of(book: Book) -> list[date]:
    return list(work_days(book.start, book.until))


def live_through(book: Book) -> Iterator[date]:
    """Act out one working day after the other, and yield each when it is over."""
    days = days_of(book)
    share = Decimal((book.until - book.start).days) / DAYS
    batches = Evenly(int(BATCHES * share), len(days))
    dispatches = Evenly(int(DISPATCHES * share), len(days) - min(4, len(days) - 1))
    turns = Turns({one.code: one.batches for one in RECIPES if one is not INFUSION})
    for place, day in enumerate(days):
        with tokens_drawn_by(book.draw):
            book.day = day
            clock = Clock(day, book.random)
            if day == book.until:
                _last_morning(book, clock, turns)
            elif place == 0:
                _first_day(book, clock)
            else:
                _morning(book, clock)
                _at_the_kettle(book, clock, turns, batches.today() if place > 1 else 0)
                _afternoon(book, clock, dispatches.today() if place > 4 else 0)
                _evening(book, clock, days[place + 1])
        yield day


def _first_day(book: Book, clock: Clock) -> None:
    opening.open_the_book(book, clock)
    money.open_the_till(book, clock)
    counting.enter_places(book, clock)
    planning.keep_terms(book, clock)
    opening.enter_certificates(book, clock)
    reviewing.review_suppliers(book, clock)
    buying.order_for_trials(book)
    buying.open_the_stores(book)
    clock.reach(9)
    buying.goods_in(book, clock)


def _morning(book: Book, clock: Clock) -> None:
    opening.enter_certificates(book, clock)
    reviewing.review_suppliers(book, clock)
    owner_decisions.judge_batches(book, clock)
    owner_decisions.judge_arrivals(book, clock)
    owner_decisions.judge_packed(book, clock)
    owner_decisions.judge_cured_soap(book, clock)
    owner_decisions.judge_returned(book, clock)
    owner_decisions.improve_formula(book, clock)
    owner_decisions.draft_formula(book, clock)
    if book.day.weekday() == 0:
        buying.order_the_week(book)
    buying.goods_in(book, clock)
    recalling.look_after(book, clock)
    recall_drills.hold_drills(book, clock)


def _at_the_kettle(book: Book, clock: Clock, turns: Turns, count: int) -> None:
    clock.reach(8, 30)
    for _ in range(count):
        stove = _next_batch(book, clock, turns.order(), turns)
        if stove is None:
            return
        mishaps.turn_of_events(book, _code(stove))(stove)


def _next_batch(
    book: Book, clock: Clock, order: Sequence[str], turns: Turns
) -> making.Stove | None:
    """Whoever's turn it is and has all it needs; the salve may need its infusion first."""
    infusing = any(_bulk(batch) == INFUSION.code for batch in book.poured)
    for code in order:
        if infusing and code == SALVE.code:
            continue  # it waits for the infusion that is not released yet
        try:
            stove = making.begin(book, clock, code)
        except making.NotEnoughError as short:
            infusion = _infusion(book, clock) if INFUSION.code in str(short) else None
            if infusion:
                return infusion
            continue
        turns.took(code)
        return stove
    return None


def _infusion(book: Book, clock: Clock) -> making.Stove | None:
    try:
        return making.begin(book, clock, INFUSION.code)
    except making.NotEnoughError:
        return None


def _bulk(batch: Batch) -> str:
    return batch.version.formula.item.code


def _code(stove: making.Stove) -> str:
    return _bulk(stove.batch)


def _afternoon(book: Book, clock: Clock, dispatches: int) -> None:
    clock.reach(12, 30)
    labelling.approve_labels(book, clock)
    filling.pack_the_day(book, clock)
    labelling.label_the_day(book, clock)
    clock.reach(14, 30)
    selling.send_the_day(book, clock, dispatches)
    selling.take_returns(book, clock)
    complaining.take_complaints(book, clock)


def _evening(book: Book, clock: Clock, tomorrow: date) -> None:
    money.note_the_minutes(book, clock)
    counting.put_away(book, clock)
    counting.count_the_scents(book, clock)
    if book.day.weekday() == 4:
        racks.weigh_round(book, clock)
        owner_decisions.tidy_on_friday(book, clock)
        owner_decisions.send_back_rejected(book, clock)
    if tomorrow.month != book.day.month:
        owner_decisions.take_stock(book, clock)


def _last_morning(book: Book, clock: Clock, turns: Turns) -> None:
    """Today: a delivery is in, a batch is begun, and the rest still waits."""
    buying.goods_in(book, clock)
    planning.take_orders(book, clock)
    stove = _next_batch(book, clock, turns.order(), turns)
    if stove is None:
        return
    for proposal in stove.proposals[: len(stove.proposals) // 2]:
        stove.weigh(proposal)
    _note_lapsed(book)
    counting.begin_today_s_round(book, clock)
    book.note("under way", f"{stove.batch} is being weighed: half of its lines are in")


def _note_lapsed(book: Book) -> None:
    lapsed = Certificate.objects.filter(valid_to__lt=book.until).order_by("-valid_to").first()
    if lapsed:
        book.note(
            "lapsed certificate",
            f"{lapsed} of {lapsed.supplier} lapsed on {shown_day(lapsed.valid_to)}, not renewed",
        )
