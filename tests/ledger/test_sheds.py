"""Mass that leaves: said by kind, dated, by somebody, and never more than there was."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from tests import make
from workshop.core.errors import ActionRefused
from workshop.ledger import services as ledger
from workshop.ledger.models import ItemKind, Lot, Operation, OperationKind, Shed, ShedKind, Side
from workshop.ledger.proof.checks import check_sheds
from workshop.ledger.stock_queries import balance
from workshop.ledger.strained_out import strained_out

pytestmark = pytest.mark.django_db


def act(**more: Any) -> dict[str, Any]:
    return {"by": make.user(), "at": make.NOON, **more}


def infused() -> tuple[Operation, Lot, Lot]:
    """A batch of 800 g of oil and 200 g of flowers, not poured yet."""
    batch, oil, herb = make.operation(OperationKind.BATCH), make.lot(), make.lot()
    ledger.post(batch, oil, Side.IN, Decimal(800), **act())
    ledger.post(batch, herb, Side.IN, Decimal(200), **act())
    return batch, oil, herb


def strained(batch: Operation, *herbs: Lot, marc: str = "310") -> list[Shed]:
    return ledger.strain_out(
        batch, list(herbs), Decimal(marc), stays="", is_estimated=False, **act(token="marc")
    )


def test_what_left_is_told_in_milligrams_by_kind() -> None:
    batch, _, herb = infused()
    strained(batch, herb)
    ledger.shed(batch, ShedKind.FILM, Decimal("4.5"), **act())
    spilled = ledger.shed(batch, ShedKind.SPILLED, Decimal(3), **act())
    ledger.take_shed_back(spilled, reason="It was water", **act())

    assert Shed.objects.filter(operation=batch).by_kind() == {
        "strained": 310_000,
        "film": 4_500,
        "spilled": 0,
    }
    assert Shed.objects.by_operation() == {batch.pk: Shed.objects.by_kind()}
    assert Shed.objects.filter(lot__item=herb.item).by_kind() == {"strained": 310_000}
    assert strained_out([batch.pk]) == {(batch.pk, herb.pk): ""}


def test_marc_of_two_lots_is_divided_as_they_went_in_to_the_milligram() -> None:
    batch, _, herb = infused()
    more = make.lot(herb.item)
    ledger.post(batch, more, Side.IN, Decimal("100.001"), **act())

    rows = strained(batch, herb, more, marc="400.002")

    assert [row.quantity for row in rows] == [Decimal("266.667"), Decimal("133.335")]


def test_lot_that_dries_loses_what_it_lost_by_an_operation_of_its_own() -> None:
    bulk = make.lot(make.item(ItemKind.BULK), on_hand=1000)

    done = ledger.shed_in_store(bulk, ShedKind.DRIED, Decimal("45.5"), **act(token="week 1"))
    again = ledger.shed_in_store(
        bulk, ShedKind.DRIED, Decimal("45.5"), by=done.opened_by, at=make.NOON, token="week 1"
    )

    assert again == done
    assert done.is_closed
    assert (balance(bulk).shed, balance(bulk).on_hand) == (Decimal("45.5"), Decimal("954.5"))
    assert balance(bulk).unaccounted == 0
    assert Shed.objects.filter(operation=done).by_kind() == {"dried": 45_500}
    assert check_sheds().problems == []


def test_lot_cannot_dry_to_less_than_nothing() -> None:
    bulk = make.lot(make.item(ItemKind.BULK), on_hand=10)

    with pytest.raises(ActionRefused, match="holds"):
        ledger.shed_in_store(bulk, ShedKind.DRIED, Decimal(11), **act(token="too much"))

    assert not Shed.objects.exists()


@pytest.mark.parametrize("grams", ["-1", "0.0001", "1e12", "NaN"])
def test_what_cannot_have_left_is_refused(grams: str) -> None:
    batch, _, _ = infused()

    with pytest.raises(ActionRefused):
        ledger.shed(batch, ShedKind.SKIMMED, Decimal(grams), **act())

    assert not Shed.objects.exists()


def test_what_left_is_taken_back_once_and_with_a_reason() -> None:
    batch, _, _ = infused()
    row = ledger.shed(batch, ShedKind.SKIMMED, Decimal(5), **act())

    with pytest.raises(ActionRefused, match="Say why"):
        ledger.take_shed_back(row, reason=" ", **act())
    ledger.take_shed_back(row, reason="Misread", **act())
    with pytest.raises(ActionRefused, match="already"):
        ledger.take_shed_back(row, reason="Misread", **act())

    assert Shed.objects.effective().count() == 0


def refused(sql: str) -> str:
    with (
        pytest.raises(IntegrityError) as refusal,
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(sql)
    return str(refusal.value)


COPY = (
    "INSERT INTO ledger_shed (operation_id, kind, lot_id, quantity, is_estimated, stays, at, by_id,"
    " token, corrects_id, reason) SELECT {operation}, {kind}, {lot}, {quantity}, is_estimated,"
    " stays, at, by_id, 'copy', {corrects}, 'why' FROM ledger_shed WHERE kind = 'strained'"
)


@pytest.mark.parametrize(
    ("values", "sentence"),
    [
        ({"quantity": "-5"}, "shed_sign_fits"),
        ({"kind": "'melted'"}, "shed_kind_is_known"),
        ({"lot": "NULL"}, "shed_names_what_was_strained"),
        ({"kind": "'film'", "stays": "yes"}, "shed_only_strained"),
        ({"lot": "(SELECT MAX(id) FROM ledger_lot)"}, "went into it"),
        ({"corrects": "id"}, "taken back whole"),
        ({"operation": "(SELECT MAX(id) FROM ledger_operation)", "lot": "NULL"}, ""),
    ],
)
def test_database_refuses_what_cannot_be(values: dict[str, str], sentence: str) -> None:
    batch, _, herb = infused()
    make.lot()
    ledger.strain_out(
        batch, [herb], Decimal(5), stays="Herb Extract", is_estimated=False, **act(token="marc")
    )
    usual = {
        "operation": "operation_id",
        "kind": "kind",
        "lot": "lot_id",
        "quantity": "quantity",
        "corrects": "NULL",
    }

    assert sentence in refused(COPY.format(**(usual | values)))


def test_row_of_what_left_is_only_added() -> None:
    batch, _, herb = infused()
    strained(batch, herb)

    assert "only ever added" in refused("UPDATE ledger_shed SET quantity = 5")
    assert "only ever added" in refused("DELETE FROM ledger_shed")
