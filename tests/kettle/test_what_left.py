"""What leaves a batch is said by its kind, and the yield account closes to the milligram."""

from decimal import Decimal
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django.asserts import assertContains

from tests import make
from tests.goods_in import build as goods
from tests.kettle import build
from workshop.core.errors import ActionRefused
from workshop.core.models import Role
from workshop.core.saving.new_tokens import new_token
from workshop.formulas.models import Line
from workshop.goods_in.lot_composition import composition_of
from workshop.kettle import services
from workshop.kettle.models import Batch
from workshop.kettle.record.record_as_shown import record_of
from workshop.ledger.models import Lot, ShedKind
from workshop.ledger.proof.checks import check_sheds, check_yields
from workshop.rules.ingredients.declaration import declare
from workshop.trace.lot.query import trace

pytestmark = pytest.mark.django_db

EXTRACT = "Calendula Officinalis Flower Extract"


def act(**more: Any) -> dict[str, Any]:
    return {"by": make.user(Role.MAKER), "at": make.NOON, "token": new_token(), **more}


def infusion(held_back: str = "60") -> Batch:
    """800 g of sunflower oil on 200 g of marigold flowers, weighed in and not strained yet."""
    oil = goods.material("Sunflower oil", inci_name="Helianthus Annuus Seed Oil")
    herb = goods.material("Marigold flowers", inci_name="Calendula Officinalis Flower")
    version = build.version([(oil, "80"), (herb, "20")], approved=False)
    line = Line.objects.filter(version=version, item=herb)
    line.update(is_strained_out=True, stays=EXTRACT, held_back=Decimal(held_back))
    version.status, version.approved_at, version.approved_by = "approved", make.NOON, make.user()
    version.save()
    return build.filled(version)


def strained(batch: Batch, marc: str | None = "310", grams: str = "680") -> Lot:
    herb = batch.lines.get(formula_line__is_strained_out=True)
    marcs = {herb.pk: Decimal(marc) if marc else None}
    return build.pour(batch, grams, marcs=marcs)[0]


def account(batch: Batch) -> tuple[dict[str, Decimal | int], Decimal | int]:
    record = record_of(batch)
    return dict[str, Decimal | int](record.left_by_kind), record.unexplained_g


def test_yield_and_what_left_and_the_unexplained_are_what_went_in() -> None:
    batch = infusion()
    services.say_left(batch, ShedKind.FILM, Decimal("4.5"), **act())
    strained(batch)

    left, unexplained = account(batch)

    assert left == {"strained out": 310, "left on the kettle": Decimal("4.5")}
    assert unexplained == Decimal("5.5")
    assert check_sheds().problems == check_yields().problems == []


def test_marc_that_nobody_weighed_is_as_the_formula_says_and_marked_so() -> None:
    batch = infusion()
    strained(batch, marc=None, grams="650")

    row = batch.operation.sheds.get()

    assert (row.quantity, row.is_estimated) == (320, True)


def test_estimated_marc_is_never_more_than_what_is_missing() -> None:
    batch = infusion()
    strained(batch, marc=None, grams="690")

    assert account(batch) == ({"strained out": 310}, 0)


def test_strained_out_flowers_are_not_in_the_oil_and_the_extract_is() -> None:
    lot = strained(infusion())

    found = composition_of(lot)

    assert {part.inci_name: share for part, share in found.items()} == {
        "Helianthus Annuus Seed Oil": 1,
        EXTRACT: 0,
    }
    assert declare(found, "EU").names == ("Helianthus Annuus Seed Oil", EXTRACT)


def test_lot_of_the_herb_stays_linked_and_has_no_grams_in_it() -> None:
    batch = infusion()
    herb = batch.lines.get(formula_line__is_strained_out=True).weighings.get().posting.lot
    lot = strained(batch)

    [made] = trace(herb).products
    sources = {one.lot.pk: one for one in trace(lot).bought}

    assert (made.lot, made.is_strained_out, made.inside) == (lot, True, Decimal(0))
    assert sources[herb.pk].is_strained_out
    assert sorted(one.inside for one in sources.values()) == [0, 800]


def test_more_of_the_herb_found_after_the_pour_is_strained_out_as_well() -> None:
    batch = infusion()
    lot = strained(batch)
    herb = batch.lines.get(formula_line__is_strained_out=True)

    build.weigh(herb, "5", note="the second bag was not written down")

    assert {part.inci_name for part in composition_of(lot)} == {
        "Helianthus Annuus Seed Oil",
        EXTRACT,
    }


@pytest.mark.parametrize(
    ("kind", "grams", "sentence"),
    [
        (ShedKind.EVAPORATED, None, "Weigh it"),
        (ShedKind.SPILLED, "1000.001", "not accounted"),
        (ShedKind.STRAINED, "300", "Choose the line"),
    ],
)
def test_what_cannot_have_left_is_refused(kind: ShedKind, grams: str | None, sentence: str) -> None:
    batch = infusion()

    with pytest.raises(ActionRefused, match=sentence):
        services.say_left(batch, kind, Decimal(grams) if grams else None, **act())

    assert not batch.operation.sheds.exists()


def test_marc_and_yield_above_what_went_in_are_refused_together() -> None:
    with pytest.raises(ActionRefused, match="more than went in"):
        strained(infusion(), marc="400", grams="680")


def test_herb_is_strained_out_once() -> None:
    batch = infusion()
    herb = batch.lines.get(formula_line__is_strained_out=True)
    services.say_left(batch, ShedKind.STRAINED, Decimal(310), line=herb, **act())

    with pytest.raises(ActionRefused, match="already"):
        services.say_left(batch, ShedKind.STRAINED, Decimal(310), line=herb, **act())
    build.pour(batch, "680")

    assert account(batch) == ({"strained out": 310}, 10)


def test_marc_taken_back_after_the_pour_leaves_the_herb_strained_out() -> None:
    batch = infusion()
    lot = strained(batch)

    services.take_left_back(batch.operation.sheds.get(), reason="That was the wet cloth", **act())

    assert batch.operation.sheds.effective().get().is_estimated
    assert EXTRACT in {part.inci_name for part in composition_of(lot)}


def test_maker_says_at_the_stove_what_left(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    batch = infusion()
    page = reverse("kettle:left", args=[batch.operation.reference])

    client.post(page, {"kind": "evaporated", "grams": "12.5 g", "token": new_token()})
    refused = client.post(page, {"kind": "spilled", "grams": "", "token": new_token()})

    assertContains(refused, "Weigh it, or say about how much it was.")
    record = client.get(reverse("kettle:batch", args=[batch.operation.reference]))
    assertContains(record, "Evaporated")
    assert account(batch) == ({"evaporated": Decimal("12.5")}, Decimal("987.5"))


def test_marc_is_entered_with_the_pour(client: Client) -> None:
    client.force_login(make.user(Role.MAKER))
    batch = infusion()
    herb = batch.lines.get(formula_line__is_strained_out=True)
    page = reverse("kettle:pour", args=[batch.operation.reference])
    assertContains(client.get(page), "Marc of Marigold flowers")
    typed = {
        "part-TOTAL_FORMS": "1",
        "part-INITIAL_FORMS": "0",
        "part-0-measured_g": "680",
        f"marc-{herb.pk}": "310",
        "token": new_token(),
    }

    answer = client.post(page, typed, follow=True)

    assertContains(answer, "310.0\u202fg left otherwise")
    assert account(batch) == ({"strained out": 310}, 10)
