"""Figures entered while the labels kept them are still there, with their history."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.utils import timezone

from tests.releases import book_of, migrate
from workshop.goods_in.models import AllergenContent, SoapValue
from workshop.ledger.models import Item

pytestmark = pytest.mark.django_db(transaction=True)

BEFORE = [("labels", "0002_guards"), ("goods_in", "0001_initial")]


@pytest.fixture
def book_before() -> Iterator[Any]:
    with book_of(BEFORE) as models:
        yield models


def enter(book: Any) -> Any:
    """One figure that was changed once, and one saponification value, as they were entered."""
    item = book.get_model("ledger", "Item").objects.create(
        code="LAV", name="Lavender oil", kind="material", unit="g"
    )
    labels = [book.get_model("labels", name) for name in ("AllergenContent", "SoapValue")]
    row = labels[0].objects.create(item=item, name="Linalool", share=Decimal("31.5"), source="7")
    labels[1].objects.create(item=item, value=Decimal("190.5"))
    for kind, share in (("+", Decimal(30)), ("~", Decimal("31.5"))):
        book.get_model("labels", "HistoricalAllergenContent").objects.create(
            id=row.pk,
            item=item,
            name="Linalool",
            share=share,
            history_type=kind,
            history_date=timezone.now(),
        )
    return row


def test_rows_and_their_history_move_with_their_tables(book_before: Any) -> None:
    was = enter(book_before)

    migrate()

    item = Item.objects.get()
    row = AllergenContent.objects.get()
    assert (row.pk, row.item, row.name, row.share, row.source) == (
        was.pk,
        item,
        "Linalool",
        Decimal("31.5"),
        "7",
    )
    assert [(one.history_type, one.share) for one in row.history.all()] == [
        ("~", Decimal("31.5")),
        ("+", Decimal(30)),
    ]
    assert SoapValue.objects.get().value == Decimal("190.5")


def test_moved_tables_take_new_rows_and_keep_their_laws(book_before: Any) -> None:
    enter(book_before)
    migrate()
    item = Item.objects.get()

    added = AllergenContent.objects.create(item=item, name="Limonene", share=Decimal(1))

    assert added.history.count() == 1
    for values in ({"name": "Limonene", "share": Decimal(2)}, {"name": "X", "share": Decimal(101)}):
        with pytest.raises(IntegrityError), transaction.atomic():
            AllergenContent.objects.create(item=item, **values)


def test_permissions_follow_the_tables(book_before: Any) -> None:
    types = book_before.get_model("contenttypes", "ContentType").objects
    was = types.get_or_create(app_label="labels", model="allergencontent")[0].pk
    types.filter(app_label="goods_in", model="allergencontent").delete()

    migrate()

    found = types.filter(model="allergencontent").values_list("pk", "app_label")
    assert list(found) == [(was, "goods_in")]


def test_move_can_be_taken_back(book_before: Any) -> None:
    enter(book_before)
    migrate()

    again = migrate(BEFORE)

    rows = again.get_model("labels", "AllergenContent").objects
    assert rows.get().share == Decimal("31.5")
    assert again.get_model("labels", "HistoricalAllergenContent").objects.count() == 2
