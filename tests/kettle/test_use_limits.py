"""Maximum use levels and allergen thresholds, before and after a change of the melt."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pytest_django.asserts import assertContains, assertNotContains

from tests import make
from tests.kettle import build
from tests.kettle.test_change_targets import described, lines, melt
from workshop.core.models import Role
from workshop.kettle.adjustments.adjusted_weights import adjustment, final_g
from workshop.kettle.adjustments.impact import NOTHING_ELSE, Effect, effects_of
from workshop.kettle.adjustments.options import options
from workshop.kettle.adjustments.use_limits import ON_THE_SKIN, LimitRow
from workshop.kettle.models import Batch
from workshop.ledger.models import Item, Lot
from workshop.materials.models import BlendPart, UseLimit
from workshop.materials.services import data_sheets

pytestmark = pytest.mark.django_db
ALLERGEN = "Allergens (leave-on), named on an EU label above the limit"


def allergens(of: Item | Lot, **shares: str) -> None:
    found = {name.replace("_", " "): Decimal(share) for name, share in shares.items()}
    data_sheets.save_contents(of, found, by=make.user(), at=make.NOON)


def scented(*, weighed: bool = True, **values: Any) -> Batch:
    """1000 g: 799 g of oil, 200 g of wax and 1 g of scent, which is 1 % linalool as a rule."""
    oil, wax, scent = described("Oil"), described("Wax"), described("Scent")
    allergens(scent, Linalool="1")
    parts = [(oil, "79.9"), (wax, "20"), (scent, "0.1")]
    batch = build.batch(build.version(parts, **values), scale=build.scale("0.5"))
    for line in batch.lines.all():
        lot = make.lot(line.item, on_hand=5000)
        if weighed:
            build.weigh(line, lot=lot)
    return Batch.objects.get(pk=batch.pk)


def effect(batch: Batch, place: int, points: str, adding: int | None = None) -> Effect:
    """What it does to change the share of the line at a place by so many points."""
    found, all_lines = melt(batch), lines(batch)
    added = all_lines[place if adding is None else adding]
    change = adjustment(found, all_lines[place], Decimal(points), added)
    return effects_of(batch, found.rows).effect(final_g(found), change.aims_g)


def test_allergen_at_its_threshold_that_passes_it_must_then_be_named() -> None:
    # By hand: 1 g of 1000 g at 1 % is 0.001 %, which is not above the threshold of a leave-on
    # product (Regulation (EU) 2023/1545); 1.5 g of 1000.5 g is 0.0014993 %.
    batch = scented()

    told = effect(batch, 2, "0.05")

    assert told.sentences == ["Linalool passes 0.001 % (leave-on): an EU label must then name it."]
    assert told.limits == [
        LimitRow(
            "Linalool",
            ALLERGEN,
            "0.00100",
            "0.00150",
            "0.00100",
            "on_hold",
            "must then be named",
        )
    ]


def test_allergen_thinned_to_its_threshold_need_not_be_named() -> None:
    # By hand: 2 g of linalool oil at 1 % in 1000 g are 0.002 %; 1 kg of oil halves that.
    batch = scented()
    scent = lines(batch)[2]
    build.weigh(scent, "1", lot=Lot.objects.get(item=scent.item))

    told = effect(batch, 1, "-10", adding=0)

    assert told.sentences == [
        "Linalool no longer passes 0.001 % (leave-on): an EU label need not name it then."
    ]
    assert [(row.before, row.after, row.word) for row in told.limits] == [
        ("0.00200", "0.00100", "named no longer")
    ]


def test_formula_that_is_rinsed_off_has_the_higher_threshold() -> None:
    batch = scented(is_rinse_off=True)

    told = effect(batch, 2, "0.05")

    assert told.sentences == [NOTHING_ELSE]
    assert [(row.what, row.most, row.word) for row in told.limits] == [
        (ALLERGEN.replace("leave-on", "rinse-off"), "0.01000", "not named")
    ]


def test_certificate_of_the_lot_weighed_in_beats_the_usual_figure() -> None:
    batch = scented()
    allergens(Lot.objects.get(item=lines(batch)[2].item), Limonene="2")

    told = effect(batch, 2, "0.05")

    assert [(row.name, row.before, row.after) for row in told.limits] == [
        ("Limonene", "0.00200", "0.00300")
    ]


def test_line_still_to_come_counts_by_the_lot_that_is_next() -> None:
    batch = scented(weighed=False)
    allergens(Lot.objects.get(item=lines(batch)[2].item), Limonene="2")

    told = effect(batch, 1, "2")

    assert [row.name for row in told.limits] == ["Limonene"]


def test_line_without_any_lot_counts_by_the_usual_figure() -> None:
    oil, scent = described("Oil"), described("Scent")
    allergens(scent, Linalool="1")
    batch = build.batch(build.version([(oil, "99.9"), (scent, "0.1")]), scale=build.scale("0.5"))

    told = effect(batch, 0, "-0.05", adding=1)

    assert [(row.name, row.before) for row in told.limits] == [("Linalool", "0.00100")]


def test_limit_on_the_skin_stands_above_the_allergens_with_its_share() -> None:
    # By hand: (200 + 25.5) / 1025.5 = 21.98927 %.
    batch = scented()
    UseLimit.objects.create(item=lines(batch)[1].item, most=Decimal(21), source="assessment")

    told = effect(batch, 1, "2")

    assert told.sentences == ["Wax would be 21.9893 %, and 21 % is the most."]
    assert told.limits[0] == LimitRow(
        "Wax", ON_THE_SKIN, "20.00000", "21.98927", "21.00000", "rejected", "above its limit"
    )
    assert [row.name for row in told.limits] == ["Wax", "Linalool"]


def test_limit_of_a_blend_counts_the_blend_itself() -> None:
    # A blend is listed by its parts, so no INCI name stands for it: its grams do.
    batch = scented()
    scent = lines(batch)[2].item
    for name in ("A", "B"):
        BlendPart.objects.create(profile=scent.profile, inci_name=name, share=Decimal(50))
    UseLimit.objects.create(item=scent, most=Decimal("0.12"), source="assessment")

    told = effect(batch, 2, "0.05")

    assert told.sentences[0] == "Scent would be 0.1499 %, and 0.12 % is the most."
    assert (told.limits[0].before, told.limits[0].after) == ("0.10000", "0.14993")


def test_limit_that_an_entry_of_the_list_sets_is_told() -> None:
    # Source: Annex III, entry 73: isoeugenol at most 0.02 %.
    batch = scented()
    allergens(Lot.objects.get(item=lines(batch)[2].item), Isoeugenol="19")

    told = effect(batch, 2, "0.05")

    assert told.sentences[0] == (
        "Isoeugenol would be 0.0285 % of the product, and 0.02 % is the most allowed."
    )


def test_prohibited_substance_is_told_in_place_of_the_allergens() -> None:
    batch = scented()
    allergens(lines(batch)[2].item, Butylphenyl_Methylpropional="1")

    told = effect(batch, 2, "0.05")

    assert told.sentences == [
        "Butylphenyl Methylpropional is prohibited in cosmetics. Do not use this material."
    ]
    assert told.limits == []


def test_each_way_of_mending_says_what_must_then_be_named() -> None:
    batch = scented(weighed=False)
    oil, wax, scent = lines(batch)
    for line, grams in ((oil, "799"), (wax, "200"), (scent, "1.5")):
        build.weigh(line, grams, lot=Lot.objects.get(item=line.item))

    accept, rebalance = options(melt(batch))[:2]

    passes = "Linalool passes 0.001 % (leave-on): an EU label must then name it."
    assert accept.sentences[-1] == passes
    assert passes in rebalance.sentences


@pytest.fixture
def maker(client: Client) -> Client:
    client.force_login(make.user(Role.MAKER))
    return client


def test_spoon_page_shows_each_limit_before_and_after(maker: Client) -> None:
    batch = scented()
    scent = lines(batch)[2]
    address = reverse("kettle:spoon", args=[batch.operation.reference])

    page = maker.get(address, {"line": str(scent.pk), "points": "0.05"})

    assertContains(page, "Linalool passes 0.001 % (leave-on): an EU label must then name it.")
    assertContains(page, "Limits and allergens")
    assertContains(page, '<td class="num" data-head="Then, %">0.00150</td>', html=True)
    assertContains(page, "must then be named")


def test_spoon_page_without_limits_shows_no_table_of_them(maker: Client) -> None:
    batch = scented()
    for item in Item.objects.all():
        item.allergens.all().delete()
    address = reverse("kettle:spoon", args=[batch.operation.reference])

    page = maker.get(address, {"line": str(lines(batch)[1].pk), "points": "2"})

    assertNotContains(page, "Limits and allergens")


def test_substitute_brings_its_own_allergens_and_limit(maker: Client) -> None:
    oil, scent, other = described("Oil"), described("Scent"), described("Other")
    allergens(scent, Linalool="1")
    version = build.version([(oil, "99.9"), (scent, "0.1")], approved=False)
    version.lines.all()[1].substitutes.add(other)
    version.status, version.approved_at, version.approved_by = "approved", make.NOON, make.user()
    version.save()
    batch = build.batch(version, scale=build.scale("0.5"))
    lot = make.lot(other)
    allergens(lot, Limonene="5")
    UseLimit.objects.create(item=other, most=Decimal("0.05"), source="assessment")
    address = reverse("kettle:stand-in", args=[batch.operation.reference, lines(batch)[1].pk])

    page = maker.get(address, {"lot": lot.code})

    told = page.context["effect"]
    assert told.sentences[-2:] == [
        "Other would be 0.1 %, and 0.05 % is the most.",
        "Limonene passes 0.001 % (leave-on): an EU label must then name it.",
    ]
    assert [(row.name, row.before, row.after) for row in told.limits] == [
        ("Other", "0.00000", "0.10000"),
        ("Limonene", "0.00000", "0.00500"),
        ("Linalool", "0.00100", "0.00000"),
    ]


def test_more_lines_ask_no_more_of_the_database() -> None:
    counts = []
    for number in (2, 8):
        items = [described(f"Oil {place} of {number}") for place in range(number)]
        for item in items:
            allergens(item, Linalool="1")
        share = Decimal(100) / number
        batch = build.batch(build.version([(item, str(share)) for item in items]))
        for item in items:
            make.lot(item, on_hand=5000)
        found = melt(Batch.objects.get(pk=batch.pk))
        with CaptureQueriesContext(connection) as queries:
            effects_of(batch, found.rows)
        counts.append(len(queries))

    assert counts[0] == counts[1]
