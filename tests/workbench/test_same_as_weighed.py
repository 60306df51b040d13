"""What is tried and what is then weighed say the same: the label, the cost, the date."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests import make
from tests.costs import build as costs
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.labels import build as labels
from tests.workbench import build
from workshop.costs.values.lot_values import values_of
from workshop.formulas import services as formula_services
from workshop.formulas.draft.validation import LineIn
from workshop.formulas.models import Version
from workshop.labels.approval.print_status import label_status
from workshop.labels.services import versions
from workshop.ledger.inherited_best_before import due_dates
from workshop.ledger.models import Lot
from workshop.materials.models import AllergenContent
from workshop.rules.quantities.whole_shares import whole_shares
from workshop.workbench.trial import lines_of

pytestmark = pytest.mark.django_db
TARGET = Decimal(2000)


@pytest.fixture
def shop() -> build.Shop:
    labels.workshop(market="EU", certified_by="Evergrain Assurance")
    costs.rates(labour="24", overhead="10")
    until = make.day(months=9)
    lots = [
        build.material("Helianthus Annuus Seed Oil", "8", organic_until=until),
        build.material("Cera Alba", "22.40", makers_expiry=make.day(months=7)),
        build.material("Butyrospermum Parkii Butter", "13.30", organic_until=until),
        build.material("Lavandula Angustifolia Oil", "140", constituency="fragrance"),
    ]
    for name, share in (("Linalool", "31"), ("Geraniol", "0.4"), ("Limonene", "0.05")):
        AllergenContent.objects.create(item=lots[3].item, name=name, share=Decimal(share))
    made = build.shop(lots, ["60", "20", "19", "1"])
    made.product.claims_organic = True
    made.product.save()
    for market in ("US", "EU"):
        labels.sheet(made.product, market)
        draft = versions.draft_from_formula(made.product, market, by=made.owner, at=make.NOON)
        versions.approve(draft, by=made.owner, at=make.NOON)
    return made


def weighed(shop: build.Shop, of: Version, minutes: int) -> Lot:
    """The same with the services of a real batch and a real run."""
    made_g = TARGET * Decimal("0.98")
    batch, bulk = build.weighed(of, shop.lots, target_g=TARGET, made_g=made_g)
    costs.minutes(batch.operation, minutes)
    lot = build.packed(shop.product, bulk, shop.tins, int(made_g / shop.product.fill_g))
    costs.minutes(lot.origin, minutes + 5)
    return lot


parts = st.lists(st.integers(1, 400_000).map(Decimal), min_size=4, max_size=4)


@settings(
    max_examples=10,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(wanted=parts, fill=st.integers(10, 120), minutes=st.integers(1, 600))
def test_tried_and_then_weighed(
    shop: build.Shop, wanted: list[Decimal], fill: int, minutes: int
) -> None:
    """Any shares, any fill, any minutes: label, cost and date are those of the lot that follows."""
    shares = whole_shares(wanted)
    shop.product.fill_g = Decimal(fill)
    shop.product.save()
    lines = [
        replace(line, share=share, lot=lot.pk)
        for line, share, lot in zip(lines_of(shop.trial().version), shares, shop.lots, strict=True)
    ]
    tried = shop.outcome(
        shop.trial(
            *lines,
            batch_g=TARGET,
            fill_g=Decimal(fill),
            batch_minutes=minutes,
            run_minutes=minutes + 5,
        )
    )
    labels_tried = {one.version.market: one.untrue for one in tried.labels}
    draft = formulas.draft(
        *(LineIn(item=line.item, share=line.share) for line in lines), of=shop.formula
    )
    lot = weighed(shop, formula_services.approve(draft, by=shop.owner, at=make.NOON), minutes)

    for market in ("US", "EU"):
        real, words = label_status(lot, market), tried.wording(shop.product, market)
        assert words.declaration == real.computed.declaration
        assert words.allergens == real.computed.wording.allergens
        assert words.organic_statement == real.computed.organic_statement
        assert words.net_contents == real.computed.net_contents
        assert words.stops == real.computed.wording.stops
        assert tried.organic == real.computed.classification
        told = [one.sentence.replace(f"lot {lot}", "what is tried") for one in real.untrue]
        ours = [one.sentence for one in labels_tried[market]]
        assert [one.way for one in labels_tried[market]] == [one.way for one in real.untrue]
        assert [text for text in ours if "unit" not in text] == [
            text.replace(f"Lot {lot}", "What is tried") for text in told if "unit" not in text
        ]
    costs_now = values_of({lot.pk})
    (bulk,) = costs_now.makings[lot.origin_id].taken.keys() - {shop.tins.pk}
    assert tried.bulk_cost == costs_now.of(bulk)
    assert tried.unit_cost == costs_now.of(lot.pk)
    assert tried.due == due_dates([lot.pk])[lot.pk]


def test_material_without_a_price_is_at_least(shop: build.Shop) -> None:
    """What never came in has no price: the cost is at least that of the rest."""
    new = goods.material("Borago Officinalis Seed Oil", is_organic=False)
    first, *rest = lines_of(shop.trial().version)
    tried = shop.outcome(shop.trial(replace(first, item=new), *rest))
    known = Fraction(20 * 2240 + 19 * 1330 + 14_000, 10_000) / Fraction("0.98")
    assert tried.bulk_cost.amount * 1000 == known
    assert not tried.bulk_cost.is_whole


def test_infusion_and_soap_need_no_weight_of_what_is_strained_out(shop: build.Shop) -> None:
    """Flowers that are strained out leave their extract in the list and nothing in the sum."""
    lines = list(lines_of(shop.trial().version))
    like = lines[2].like
    assert like is not None
    like.is_strained_out, like.stays = True, "Calendula Officinalis Flower Extract"
    tried = shop.outcome(shop.trial(*lines))
    words = tried.wording(shop.product, "US").declaration
    assert words.names[-1] == "Calendula Officinalis Flower Extract"
    assert sum(tried.composition.values()) == 1
