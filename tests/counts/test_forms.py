"""Each form of a round: sent twice, refused beside its field, written with all that was said."""

from datetime import datetime, time, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from tests import make
from tests.counts.build import a_round, counted, ended, line_of, place, put
from tests.resent import bound_to, refused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.counts import services
from workshop.counts.due import due_lots
from workshop.counts.models import Classing, CountLine, CountRound
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind

pytestmark = pytest.mark.django_db
MINUTE = timedelta(minutes=1)
ONE = Decimal(1)


def test_beginning_is_bound_to_its_choice_and_keeps_it() -> None:
    shelf, lot = place(), make.lot()
    put(shelf, lot)
    classing = Classing.objects.create(by=make.user(), at=make.NOON, token=new_token())
    classing.items.create(item=lot.item, abc_class="B", used_value=1)
    packer = make.user(Role.PACKER)
    choice: dict[str, Any] = {
        "place": shelf, "kind": lot.item.kind, "abc_class": "B", "only_due": False,
        "is_blind": False, "tolerance_percent": Decimal(2),
    }  # fmt: skip

    def begin(**chosen: Any) -> CountRound:
        return services.begin_round(
            services.Choice(**chosen), by=packer, at=make.NOON, token="begin"
        )

    bound_to(begin, choice, {
        "place": None, "kind": "", "abc_class": "", "only_due": True, "is_blind": True,
        "tolerance_percent": None,
    })  # fmt: skip
    found = CountRound.objects.get()
    assert {name: getattr(found, name) for name in choice} == choice
    assert (found.begun_at, found.begun_by) == (make.NOON, packer)
    (line,) = CountLine.objects.all()
    assert (line.place, line.abc_class, line.tolerance_percent) == (shelf, "B", 2)
    assert (line.at, line.by, line.is_found) == (make.NOON, packer, False)
    refused(lambda: a_round(), "No lot in stock fits this")


def test_count_is_bound_to_its_figures_and_written_with_its_note() -> None:
    lot, other = make.lot(), make.lot()
    found, packer = a_round(at=make.NOON), make.user(Role.PACKER)
    later = make.NOON + 5 * MINUTE
    sent: dict[str, Any] = {
        "found": found, "lot": lot, "counted": Decimal(990), "note": " Torn bag ",
        "counted_at": make.NOON + MINUTE,
    }  # fmt: skip

    def count(**content: Any) -> Any:
        return services.record_count(**content, by=packer, at=later, token="count")

    bound_to(count, sent, {"lot": other, "counted": ONE, "note": "", "counted_at": later})
    row = count(**sent)
    assert (row.counted, row.book, row.note) == (990, 1000, "Torn bag")
    assert (row.counted_at, row.at, row.by) == (make.NOON + MINUTE, later, packer)
    ended(found, at=later)
    again = a_round(at=later)
    refused(lambda: count(**{**sent, "found": again}), "already sent with other figures")


@pytest.mark.parametrize(
    ("figure", "sentence"),
    [
        ("-0.001", "A counted quantity is not below zero."),
        (str(ledger.LARGEST), "A counted quantity is not below zero."),
        ("0.0001", "at most three decimal places"),
    ],
)
def test_figure_that_cannot_be_is_told_beside_it(figure: str, sentence: str) -> None:
    lot = make.lot()
    found = a_round()

    refused(lambda: counted(found, lot, figure), sentence, "counted")
    for most in ("0", "0.001", str(ledger.LARGEST - Decimal("0.001"))):
        assert counted(found, lot, most).counted == Decimal(most)


def test_pieces_are_told_whole_beside_their_field() -> None:
    lot = make.lot(make.item(ItemKind.PACKAGING))
    refused(
        lambda: counted(a_round(), lot, "1.5"), f"{lot.item} is counted in whole pieces.", "counted"
    )


def test_time_of_a_count_is_typed_without_seconds_and_lies_within_the_round() -> None:
    lot, begun = make.lot(), make.NOON + timedelta(seconds=40, microseconds=7)
    found = a_round(at=begun)

    assert counted(found, lot, 1, at=begun, counted_at=make.NOON).at == begun
    early = make.NOON - timedelta(microseconds=1)
    refused(
        lambda: counted(found, lot, 1, at=begun, counted_at=early),
        "The round had not begun then.",
        "counted_at",
    )
    assert counted(found, lot, 1, at=begun, counted_at=begun).counted_at == begun
    late = begun + timedelta(microseconds=1)
    refused(
        lambda: counted(found, lot, 1, at=begun, counted_at=late), "in the future", "counted_at"
    )


def test_lot_added_as_found_stands_where_it_is_with_its_class_and_the_round_s_tolerance() -> None:
    shelf, other = place("Shelf 1"), place("Shelf 2")
    asked, extra = make.lot(), make.lot()
    put(shelf, asked)
    put(other, extra)
    found = a_round(place=shelf, tolerance_percent=Decimal(0))
    packer = make.user(Role.PACKER)

    counted(found, extra, 5, by=packer)

    row = line_of(found, extra).row
    assert (row.place, row.abc_class, row.tolerance_percent) == (other, "C", 0)
    assert (row.is_found, row.by, row.at) == (True, packer, make.NOON)


def test_end_is_bound_to_its_reasons_and_each_refusal_stands_beside_its_line() -> None:
    lot, owner = make.lot(on_hand=1000), make.user(Role.OWNER)
    found = a_round(tolerance_percent=Decimal(10))
    counted(found, lot, 950)
    line = line_of(found, lot).row.pk

    def end(**values: Any) -> Any:
        sent: dict[str, Any] = {
            "found": found, "reasons": {line: "Spilt"}, "confirmed": make.signed(owner),
            "by": owner, **values,
        }  # fmt: skip
        return services.end_round(**sent, at=make.NOON, token="end")

    refused(lambda: end(by=make.user(Role.PACKER)), "Only an owner ends a round")
    refused(lambda: end(confirmed=None), "Sign with your password.", "password")
    refused(lambda: end(reasons={line: " "}), "Say why, as far as you know.", f"reason-{line}")
    bound_to(end, {}, {"reasons": {line: "Used"}})
    done = end()
    (posted,) = done.posted.all()
    assert (posted.reason, posted.count.counted) == ("Spilt", 950)
    assert (done.by, done.at) == (owner, make.NOON)


def test_sheet_tells_the_field_of_the_lot_and_keeps_other_fields() -> None:
    lot = make.lot()
    found = a_round()
    act: dict[str, Any] = {"by": make.user(), "at": make.NOON, "token": "sheet"}
    early = make.NOON - MINUTE

    refused(
        lambda: services.record_sheet(found, {lot: ONE}, counted_at=early, **act),
        "had not begun then",
        "counted_at",
    )
    (row,) = services.record_sheet(found, {lot: ONE}, counted_at=make.NOON, **act)
    assert services.record_sheet(found, {lot: ONE}, counted_at=make.NOON, **act) == [row]
    refused(
        lambda: services.record_sheet(found, {lot: 2 * ONE}, counted_at=make.NOON, **act),
        "already sent with other figures",
    )
    assert (row.by, row.at, row.counted_at) == (act["by"], make.NOON, make.NOON)


def test_classes_sent_twice_are_worked_out_once() -> None:
    owner = make.user()
    first = services.reckon_classes(by=owner, at=make.NOON, token="k")

    assert services.reckon_classes(by=owner, at=make.NOON, token="k") == first
    assert (first.by, first.at) == (owner, make.NOON)
    refused(
        lambda: services.reckon_classes(by=make.user(), at=make.NOON, token="k"),
        "already sent with other figures",
    )


@pytest.mark.parametrize(("minutes", "is_due"), [(-1, True), (0, False)])
def test_day_of_a_count_ends_at_midnight(minutes: int, is_due: bool) -> None:  # noqa: FBT001 -- a column of the table
    """Counted once a year, 365 days: what was counted on that day is due, a minute later not."""
    today = make.DAY
    midnight = timezone.make_aware(datetime.combine(today - timedelta(days=364), time()))
    moment = midnight + minutes * MINUTE
    alone = make.lot(made_on=make.DAY - timedelta(days=800))
    in_round = make.lot(made_on=make.DAY - timedelta(days=800))
    ledger.count_lot(alone, Decimal(1000), by=make.user(), at=moment, reason="", token="c")
    found = a_round(at=moment)
    counted(found, in_round, 1000, at=moment)
    ended(found, at=moment)

    assert set(due_lots(today)) == ({alone, in_round} if is_due else set())
