"""Rounds: what they ask for, counts that do not overwrite each other, and how the book follows."""

from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from hypothesis import given, settings
from hypothesis import strategies as st

from tests import make
from tests.costs import build as costs
from tests.counts.build import a_round, counted, ended, line_of, place, put
from tests.goods_in import build as goods_in
from tests.packing import build as packing
from workshop.audit.all_checks import prove
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.counts import services
from workshop.counts.due import due_lots
from workshop.counts.models import AbcClass, Classing, Count, CountLine, ItemClass
from workshop.counts.rounds import state_of
from workshop.ledger import services as ledger
from workshop.ledger.models import Item, ItemKind, Lot, LotCount, Operation, OperationKind, Side
from workshop.rules.stock.counting import Verdict

pytestmark = pytest.mark.django_db

MINUTE = timedelta(minutes=1)


def used(lot: Lot, grams: int, *, at: Any = make.NOON) -> None:
    """Some of a lot went into a kettle."""
    batch = make.operation(OperationKind.BATCH, at=at)
    ledger.post(batch, lot, Side.IN, Decimal(grams), by=make.user(), at=at)


def classed(name: str, *items: Item) -> None:
    of = Classing.objects.create(by=make.user(), at=make.NOON, token=new_token())
    ItemClass.objects.bulk_create(
        ItemClass(classing=of, item=item, abc_class=name, used_value=1) for item in items
    )


# ---- what a round asks for -----------------------------------------------------------------------


def test_round_asks_for_what_is_in_stock_at_its_place_and_for_nothing_else() -> None:
    shelf, other = place("Shelf 1"), place("Shelf 2")
    here, moved, empty, nowhere = (make.lot(on_hand=grams) for grams in (500, 500, 0, 500))
    put(shelf, here, moved, empty)
    put(other, moved)

    found = a_round(place=shelf)

    assert [line.row.lot for line in state_of(found).lines] == [here]
    assert nowhere not in {line.lot for line in found.lines.all()}


def test_round_by_kind_and_class() -> None:
    oil, wax, tin = make.item(), make.item(), make.item(ItemKind.PACKAGING)
    lots = [make.lot(item, on_hand=100) for item in (oil, wax, tin)]
    classed("A", oil, tin)

    assert [line.lot for line in a_round(kind="packaging").lines.all()] == [lots[2]]
    assert [line.lot for line in a_round(abc_class="A").lines.all()] == [lots[0]]
    # What no working-out knows is of class C.
    assert [line.lot for line in a_round(abc_class="C").lines.all()] == [lots[1]]


def test_lot_is_asked_for_by_one_round_at_a_time() -> None:
    lot = make.lot()
    first = a_round()

    with pytest.raises(ActionRefused, match="another round asks for it already"):
        a_round()
    counted(first, lot, 1000)
    ended(first)
    assert [line.lot for line in a_round().lines.all()] == [lot]


def test_lots_stand_in_the_order_of_their_places() -> None:
    last, first = make.lot(), make.lot()
    lost = make.lot()
    put(place("B"), last)
    put(place("A"), first)

    assert [line.lot for line in a_round().lines.all()] == [first, last, lost]


def test_tolerance_is_the_class_s_unless_the_round_has_its_own() -> None:
    oil, wax = make.item(), make.item()
    make.lot(oil), make.lot(wax)
    classed("A", oil)

    by_class = a_round()
    tolerances = {line.lot.item: line.tolerance_percent for line in by_class.lines.all()}
    assert tolerances == {oil: 1, wax: 5}
    ended(by_class)
    own = a_round(tolerance_percent=Decimal("0.5"))
    assert {line.tolerance_percent for line in own.lines.all()} == {Decimal("0.5")}


# ---- counting ------------------------------------------------------------------------------------


def test_book_is_frozen_at_the_moment_of_each_count() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round()

    count = counted(found, lot, 990, at=make.NOON + MINUTE)
    used(lot, 300, at=make.NOON + 2 * MINUTE)

    assert (count.book, count.counted) == (1000, 990)
    assert line_of(found, lot).difference == -10


def test_count_made_at_ten_and_entered_later_is_held_against_the_book_of_ten() -> None:
    # Counted at 10:00, something sent at 10:05, entered at 10:30.
    lot = make.lot(on_hand=1000)
    found = a_round()
    ten = make.NOON + timedelta(hours=1)
    used(lot, 400, at=ten + 5 * MINUTE)

    count = counted(found, lot, 1000, at=ten + 30 * MINUTE, counted_at=ten)

    assert count.book == 1000
    assert line_of(found, lot).verdict is Verdict.RIGHT


def test_out_of_tolerance_asks_for_a_second_count_and_two_that_agree_settle_it() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))

    counted(found, lot, 900)
    assert line_of(found, lot).verdict is Verdict.AGAIN
    counted(found, lot, 904)

    line = line_of(found, lot)
    assert line.verdict is Verdict.OFF
    assert [one.counted for one in line.counts] == [900, 904]
    assert not line.by_one_person


def test_second_count_by_the_same_hands_is_taken_and_said() -> None:
    lot, packer = make.lot(on_hand=1000), make.user(Role.PACKER)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900, by=packer)
    assert line_of(found, lot).by_one_person


def test_next_is_on_from_the_last_one_and_a_recount_goes_to_somebody_else_first() -> None:
    lots = [make.lot(on_hand=1000) for _ in range(3)]
    mara, ivo = make.user(Role.PACKER), make.user(Role.MAKER)
    found = a_round(tolerance_percent=Decimal(1))
    first, second, third = state_of(found).lines

    counted(found, second.row.lot, 500, by=mara)
    state = state_of(found)
    assert state.next_for(mara, second.row.pk).row == third.row  # type: ignore[union-attr]
    counted(found, third.row.lot, 1000, by=mara)
    counted(found, first.row.lot, 700, by=ivo)
    state = state_of(found)
    assert state.next_for(mara).row == first.row  # type: ignore[union-attr]
    assert state.next_for(ivo).row == second.row  # type: ignore[union-attr]
    assert len(lots) == state.asked


def test_lot_that_nobody_asked_for_is_added_as_found() -> None:
    shelf, asked, found_there = place(), make.lot(), make.lot(on_hand=70)
    put(shelf, asked)
    found = a_round(place=shelf)

    counted(found, found_there, 70)

    line = line_of(found, found_there)
    assert (line.row.is_found, line.verdict) == (True, Verdict.RIGHT)


def test_lot_of_another_round_is_counted_there() -> None:
    shelf, lot, other = place(), make.lot(), make.lot()
    put(shelf, lot)
    here = a_round(place=shelf)
    there = a_round()

    with pytest.raises(ActionRefused, match=f"asked for by {there}; count it there"):
        counted(here, other, 1)
    assert not Count.objects.exists()


@pytest.mark.parametrize(
    ("figure", "sentence"),
    [("-1", "not below zero"), ("1000000000", "not below zero"), ("0.0001", "three decimal")],
)
def test_odd_figure_is_refused_and_nothing_written(figure: str, sentence: str) -> None:
    lot = make.lot()
    found = a_round()
    with pytest.raises(ActionRefused, match=sentence):
        counted(found, lot, figure)
    assert not Count.objects.exists()


def test_pieces_are_counted_whole() -> None:
    lot = make.lot(make.item(ItemKind.PACKAGING))
    with pytest.raises(ActionRefused, match="whole pieces"):
        counted(a_round(), lot, "1.5")


@pytest.mark.parametrize(
    ("minutes", "sentence"), [(1, "in the future"), (-1, "had not begun then")]
)
def test_count_lies_between_the_beginning_and_now(minutes: int, sentence: str) -> None:
    lot = make.lot()
    found = a_round()
    with pytest.raises(ActionRefused, match=sentence):
        counted(found, lot, 1, counted_at=make.NOON + minutes * MINUTE)


def test_same_form_sent_twice_is_one_count_and_with_other_figures_refused() -> None:
    lot, packer = make.lot(), make.user(Role.PACKER)
    found = a_round()
    first = counted(found, lot, 10, by=packer, token="t")
    assert counted(found, lot, 10, by=packer, token="t") == first
    with pytest.raises(ActionRefused, match="already sent with other figures"):
        counted(found, lot, 11, by=packer, token="t")
    assert Count.objects.count() == 1


def test_sheet_of_paper_is_entered_whole_or_not_at_all() -> None:
    grams, pieces = make.lot(), make.lot(make.item(ItemKind.PACKAGING))
    found = a_round()
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON, "counted_at": make.NOON}

    with pytest.raises(ActionRefused) as caught:
        services.record_sheet(found, {grams: Decimal(5), pieces: Decimal("0.5")}, token="s", **act)
    assert caught.value.field == f"counted-{pieces.pk}"
    assert not Count.objects.exists()
    services.record_sheet(found, {grams: Decimal(5), pieces: Decimal(4)}, token="s2", **act)
    assert {one.counted for one in Count.objects.all()} == {4, 5}


# ---- the end of a round --------------------------------------------------------------------------


def test_owner_ends_a_round_and_each_lot_set_right_has_a_count_of_its_own() -> None:
    short, right, never = (make.lot(on_hand=1000) for _ in range(3))
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, short, 900)
    counted(found, right, 1000)

    end = ended(found, short, reason="Leaked")

    [posted] = end.posted.all()
    assert posted.operation.kind == OperationKind.COUNT
    assert posted.operation.closed_by == end.by
    assert posted.operation.postings.get().reason == f"Leaked ({found})"
    assert [ledger.on_hand(lot) for lot in (short, right, never)] == [900, 1000, 1000]
    state = state_of(found)
    assert [line.row.lot for line in state.never_counted] == [never]
    assert state.accuracy == 50
    assert state.accuracy_by_class() == [("C", 2, 1, Fraction(50))]


def test_what_was_taken_after_the_count_stays_taken() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900, at=make.NOON + MINUTE)
    used(lot, 300, at=make.NOON + 2 * MINUTE)

    end = ended(found, lot, at=make.NOON + 3 * MINUTE)

    assert ledger.on_hand(lot) == 600
    # The movement is dated at the count, not at the signature.
    posting = end.posted.get().operation.postings.get()
    assert (posting.at, posting.quantity) == (make.NOON + MINUTE, -100)
    kept = LotCount.objects.get()
    assert (kept.counted, kept.book, kept.difference) == (900, 1000, Decimal(-100))


def test_within_tolerance_the_book_is_set_right_too_where_the_owner_says_so() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    counted(found, lot, 995)
    ended(found, lot)
    assert ledger.on_hand(lot) == 995


def test_difference_that_the_owner_leaves_out_stays() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    counted(found, lot, 995)
    assert not ended(found).posted.exists()
    assert ledger.on_hand(lot) == 1000


def test_what_is_still_to_be_counted_again_is_not_posted() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    counted(found, lot, 900)
    ended(found, lot)
    assert ledger.on_hand(lot) == 1000
    assert [line.row.lot for line in state_of(found).again] == [lot]


def test_count_is_not_used_when_something_before_it_was_entered_after_it() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900, at=make.NOON + 5 * MINUTE)
    # Weighed without the network before the count, arrived after it: that was the difference.
    used(lot, 100, at=make.NOON + MINUTE)

    with pytest.raises(ActionRefused, match="entered only after it"):
        ended(found, lot, at=make.NOON + 6 * MINUTE)
    assert ledger.on_hand(lot) == 900
    counted(found, lot, 900, at=make.NOON + 7 * MINUTE)
    assert line_of(found, lot).verdict is Verdict.RIGHT
    ended(found, at=make.NOON + 8 * MINUTE)


def test_count_is_not_used_when_the_lot_was_counted_by_itself_since() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900)
    alone = ledger.count_lot(
        lot, Decimal(900), by=make.user(), at=make.NOON + MINUTE, reason="Leaked", token="c"
    )
    with pytest.raises(ActionRefused, match=f"counted by itself since, {alone}"):
        ended(found, lot, at=make.NOON + 2 * MINUTE)
    assert ledger.on_hand(lot) == 900


def test_count_taken_back_later_is_not_the_book_of_that_moment() -> None:
    lot = make.lot(on_hand=1000)
    batch = make.operation(OperationKind.BATCH)
    slip = ledger.post(batch, lot, Side.IN, Decimal(800), by=make.user(), at=make.NOON)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 920, at=make.NOON + MINUTE)
    ledger.reverse(slip, by=make.user(), at=make.NOON + 2 * MINUTE, reason="It was 80")

    with pytest.raises(ActionRefused, match="entered only after it"):
        ended(found, lot, at=make.NOON + 3 * MINUTE)


def test_only_an_owner_ends_a_round_with_a_signature_and_a_reason() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900)
    packer, owner = make.user(Role.PACKER), make.user(Role.OWNER)

    with pytest.raises(ActionRefused, match="Only an owner"):
        ended(found, lot, by=packer, confirmed=make.signed(packer))
    with pytest.raises(ActionRefused, match="password"):
        ended(found, lot, by=owner, confirmed=None)
    with pytest.raises(ActionRefused, match="password"):
        ended(found, lot, by=owner, confirmed=make.signed(packer))
    with pytest.raises(ActionRefused, match="Say why"):
        ended(found, lot, by=owner, reason=" ")
    assert not hasattr(type(found).objects.get(pk=found.pk), "end")
    assert ledger.on_hand(lot) == 1000


def test_round_that_is_over_takes_no_more_counts() -> None:
    lot = make.lot()
    found = a_round()
    ended(found)
    with pytest.raises(ActionRefused, match="is over"):
        counted(found, lot, 1)
    with pytest.raises(ActionRefused, match="is over"):
        ended(found)


def test_end_sent_twice_ends_it_once() -> None:
    lot, owner = make.lot(on_hand=1000), make.user(Role.OWNER)
    found = a_round(tolerance_percent=Decimal(10))
    counted(found, lot, 950)
    assert ended(found, lot, by=owner, token="e") == ended(found, lot, by=owner, token="e")
    assert Operation.objects.filter(kind=OperationKind.COUNT).count() == 1


def test_units_kept_back_as_samples_count_and_fewer_than_those_are_refused() -> None:
    lot = packing.packed(units=40, retained=2, retained_at="box 1")
    shelf = place()
    put(shelf, lot)
    found = a_round(place=shelf)
    for _ in range(2):
        counted(found, lot, 1)
    with pytest.raises(ActionRefused, match="retained as samples") as caught:
        ended(found, lot)
    assert caught.value.field == f"reason-{line_of(found, lot).row.pk}"
    for _ in range(2):
        counted(found, lot, 30)
    ended(found, lot)
    assert ledger.on_hand(lot) == 30


def test_book_stays_sound_and_sealed() -> None:
    lot = make.lot(on_hand=1000)
    found = a_round(tolerance_percent=Decimal(1))
    for _ in range(2):
        counted(found, lot, 900)
    ended(found, lot)
    make.lot()
    assert [finding for finding in prove() if not finding.is_sound] == []


# ---- what the database refuses -------------------------------------------------------------------


@pytest.mark.parametrize("table", ["counts_count", "counts_countline", "counts_countround"])
def test_nothing_of_a_round_is_changed_or_removed(table: str) -> None:
    lot = make.lot()
    counted(a_round(), lot, 1)
    for statement in (f"UPDATE {table} SET id = id", f"DELETE FROM {table}"):  # noqa: S608 -- own names
        with (
            pytest.raises(IntegrityError, match="only ever added"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(statement)


def test_database_takes_no_count_into_a_round_that_is_over() -> None:
    lot, other = make.lot(), make.lot()
    found = a_round()
    count = counted(found, lot, 1)
    ended(found)
    values = {"book": 1, "counted": 1, "counted_at": make.NOON, "at": make.NOON, "by": count.by}
    with pytest.raises(IntegrityError, match="This round is over"), transaction.atomic():
        Count.objects.create(line=count.line, token="x", **values)
    with pytest.raises(IntegrityError, match="This round is over"), transaction.atomic():
        CountLine.objects.create(
            round=found,
            lot=make.lot(),
            abc_class="A",
            tolerance_percent=1,
            at=make.NOON,
            by=count.by,
        )
    assert other in {line.lot for line in found.lines.all()}


# ---- several at once -----------------------------------------------------------------------------


@pytest.mark.django_db(transaction=True)
def test_two_people_who_count_the_same_lot_at_once_leave_two_counts() -> None:
    lot, stray = make.lot(on_hand=1000), make.lot(on_hand=5)
    shelf = place()
    put(shelf, lot)
    found = a_round(place=shelf, tolerance_percent=Decimal(1))
    people = [make.user(Role.PACKER), make.user(Role.MAKER)]

    def act(person: Any) -> None:
        try:
            counted(found, lot, 900, by=person)
            counted(found, stray, 5, by=person)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        list(pool.map(act, people))

    assert {one.by for one in line_of(found, lot).counts} == set(people)
    assert line_of(found, lot).verdict is Verdict.OFF
    assert len(line_of(found, stray).counts) == 2
    assert CountLine.objects.filter(lot=stray).count() == 1


@pytest.mark.django_db(transaction=True)
def test_same_token_from_two_tabs_is_one_count() -> None:
    lot, packer = make.lot(), make.user(Role.PACKER)
    found = a_round()

    def act(_: int) -> int:
        try:
            return counted(found, lot, 10, by=packer, token="once").pk
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        made = set(pool.map(act, range(2)))
    assert len(made) == 1
    assert Count.objects.count() == 1


# ---- classes and what is due ---------------------------------------------------------------------


def test_classes_follow_what_was_used_times_what_it_cost() -> None:
    costs.rates()
    dear, cheap, idle = (goods_in.lot(grams=1000) for _ in range(3))
    costs.paid(dear, "1000")
    costs.paid(cheap, "10")
    costs.paid(idle, "5000")
    used(dear, 500)
    used(cheap, 500)

    services.reckon_classes(by=make.user(), at=make.NOON, token="k")

    found = {row.item: row for row in Classing.objects.get().items.all()}
    assert {item: row.abc_class for item, row in found.items()} == {
        dear.item: "A",
        cheap.item: "C",
        idle.item: "C",
    }
    assert found[dear.item].used_value == 500


def test_classes_are_an_owner_s() -> None:
    with pytest.raises(ActionRefused, match="Only an owner"):
        services.reckon_classes(by=make.user(Role.PACKER), at=make.NOON, token="k")


@pytest.mark.parametrize(("name", "days"), [("A", 91), ("B", 182), ("C", 365)])
def test_lot_is_due_when_the_days_of_its_class_are_over(name: str, days: int) -> None:
    lot = make.lot()
    classed(name, lot.item)
    assert lot not in due_lots(make.DAY + timedelta(days=days - 1))
    assert lot in due_lots(make.DAY + timedelta(days=days))


def test_counted_lot_is_due_anew_from_its_count_in_a_round_or_alone() -> None:
    alone, in_round = make.lot(), make.lot()
    classed("A", alone.item, in_round.item)
    later = make.NOON + timedelta(days=60)
    shelf = place()
    put(shelf, in_round)
    found = a_round(place=shelf, at=later)
    counted(found, in_round, 1000, at=later)
    ended(found, at=later)
    ledger.count_lot(alone, Decimal(1000), by=make.user(), at=later, reason="", token="c")

    assert not due_lots(make.DAY + timedelta(days=100)).exists()
    assert set(due_lots(make.DAY + timedelta(days=60 + 91))) == {alone, in_round}


def test_what_a_round_asks_for_or_is_used_up_is_not_due() -> None:
    asked, gone = make.lot(), make.lot(on_hand=0)
    far = make.DAY + timedelta(days=400)
    assert set(due_lots(far)) == {asked}
    a_round()
    assert not due_lots(far).exists()
    assert gone.pk


def test_round_of_what_is_due() -> None:
    fresh, old = make.lot(), make.lot(made_on=make.DAY - timedelta(days=400))
    found = a_round(only_due=True)
    assert [line.lot for line in found.lines.all()] == [old]
    assert fresh.pk
    assert found.chosen_by == "due for counting"


@settings(max_examples=15, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(["use", "count", "late use"]), st.integers(0, 300)), max_size=6
    )
)
def test_after_a_round_the_book_is_what_was_there_whatever_happened_meanwhile(
    events: list[tuple[str, int]],
) -> None:
    """There are as many grams as there are; the book was wrong by 50 at the start."""
    with transaction.atomic():
        lot = make.lot(on_hand=5000)
        there, clock = 4950, make.NOON
        found = a_round(tolerance_percent=Decimal(0))
        for kind, grams in events:
            clock += 2 * MINUTE
            if kind == "count":
                counted(found, lot, there, at=clock)
            elif grams:
                there -= grams
                # What is weighed without the network comes in later, dated when it was weighed.
                used(lot, grams, at=clock - (MINUTE if kind == "late use" else 0 * MINUTE))
        for _ in range(2):
            clock += 2 * MINUTE
            counted(found, lot, there, at=clock)
        clock += MINUTE
        used(lot, 7, at=clock)
        ended(found, lot, at=clock + MINUTE)
        assert ledger.on_hand(lot) == there - 7
        transaction.set_rollback(True)


def test_classes_know_each_kind() -> None:
    assert set(AbcClass.values) == {"A", "B", "C"}
