"""What a label says, computed from the ledger for one lot."""

from decimal import Decimal
from fractions import Fraction

import pytest

from tests import make
from tests.goods_in import build as goods
from tests.labels import build
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.saving.with_history import save_with_history
from workshop.labels.content.dated_lines import HOURGLASS
from workshop.labels.content.declaration_rows import rows
from workshop.labels.content.label import label_for
from workshop.labels.layout.least_type import least_net_mm
from workshop.labels.layout.symbols import dated
from workshop.labels.models import LabelDesign
from workshop.ledger import services as ledger
from workshop.ledger.models import Lot, Status
from workshop.materials.ingredients import limits_of
from workshop.materials.models import Constituency, OrganicScheme
from workshop.materials.services.materials import BlendComponent
from workshop.packing import queries
from workshop.packing.models import PackingRun
from workshop.rules.ingredients.organic_share import Limits

pytestmark = pytest.mark.django_db

LATER = make.day(months=12)


def names(lot: Lot) -> list[str]:
    return list(label_for(lot).declaration.names)


def lip_balm() -> Lot:
    """1 000 g, the figures of a worked order for 21 CFR 701.3 and (EC) 1223/2009 article 19."""
    return build.finished(
        [
            (build.oil("Tocopherol"), 10),
            (build.oil("CI 77491", constituency=Constituency.COLOURANT), 8),
            (build.oil("Lavandula Angustifolia Oil"), 12),
            (build.oil("Butyrospermum Parkii Butter"), 100),
            (build.oil("Cocos Nucifera Oil"), 200),
            (build.oil("Cera Alba"), 250),
            (build.oil("Helianthus Annuus Seed Oil"), 420),
        ],
        fill_g=5,
    )


@pytest.mark.parametrize(
    ("market", "named_too"),
    # Source: Regulation (EU) 2023/1545, entry 360, asked for from 1 August 2026.
    [(Market.US, []), (Market.EU, ["Lavandula Oil/Extract"])],
)
def test_list_is_in_descending_weight_with_colours_last(market: str, named_too: list[str]) -> None:
    build.workshop(market=market)

    # Source: 21 CFR 701.3(a), (f); Regulation (EC) 1223/2009, article 19(1)(g).
    us = market == Market.US
    assert names(lip_balm()) == [
        "Helianthus Annuus (Sunflower) Seed Oil" if us else "Helianthus Annuus Seed Oil",
        "Beeswax" if us else "Cera Alba",
        "Cocos Nucifera (Coconut) Oil" if us else "Cocos Nucifera Oil",
        "Butyrospermum Parkii (Shea) Butter" if us else "Butyrospermum Parkii Butter",
        "Lavandula Angustifolia (Lavender) Oil" if us else "Lavandula Angustifolia Oil",
        *named_too,
        "Tocopherol",
        "Iron Oxides (CI 77491)" if us else "CI 77491",
    ]


def test_one_per_cent_exactly_may_stand_in_any_order_in_the_us_alone() -> None:
    workshop = build.workshop(market=Market.US)
    lot = lip_balm()
    groups = {}
    for market in Market.values:
        workshop.market = market
        workshop.save()
        entries = label_for(lot).declaration.entries
        groups[market] = {entry.name: entry.group for entry in entries}["Tocopherol"]

    # Source: 21 CFR 701.3(f)(2) "not more than 1 percent"; the EU says less than 1 %.
    assert groups == {"US": "one_percent", "EU": "main", "UK": "main"}


def test_soft_balm_lists_solid_oil_wax_and_liquid_oil_in_that_order() -> None:
    # Common practice, no source: 37.3 g of solid oil, 5.2 g of wax, 3.6 g of liquid oil.
    build.workshop()
    parts: list[build.Part] = [
        (build.oil("Liquid Oil"), "3.6"),
        (build.oil("Solid Oil"), "37.3"),
        (build.oil("Wax"), "5.2"),
    ]
    bulk = build.bulk(parts)
    product = packing.product(bulk=bulk.item, fill_g=Decimal("14.175"))

    lot = packing.packed(product, 3, bulk=bulk)

    assert names(lot) == ["Solid Oil", "Wax", "Liquid Oil"]
    assert ledger.on_hand(lot) == 3
    assert ledger.on_hand(bulk) == Decimal("46.1") - Decimal("42.525")
    assert label_for(lot).net_contents == "Net wt. 0.5 oz (14.1 g)"


def test_list_goes_through_an_infusion_made_here_and_a_blend_that_was_bought() -> None:
    build.workshop()
    oil = build.oil("Helianthus Annuus Seed Oil")
    infusion = build.bulk([(oil, 900), (build.oil("Calendula Officinalis Flower"), 100)])
    blend = build.oil(
        "Blend",
        parts=[
            BlendComponent("Beeswax", Decimal(75)),
            BlendComponent("Helianthus Annuus Seed Oil", Decimal(25)),
        ],
    )

    lot = build.finished([(infusion, 500), (blend, 400), (build.oil("Tocopherol"), 100)])

    shares = {entry.name: entry.share * 1000 for entry in label_for(lot).declaration.entries}
    assert shares == {
        "Helianthus Annuus (Sunflower) Seed Oil": 550,
        "Beeswax": 300,
        "Tocopherol": 100,
        "Calendula Officinalis Flower": 50,
    }


def test_organic_names_are_marked_and_the_mark_is_explained() -> None:
    build.workshop()
    lot = build.finished(
        [(build.oil("Olea Europaea Fruit Oil", organic_until=LATER), 900), (build.oil("Wax"), 100)]
    )

    label = label_for(lot)

    assert label.declaration.text == (
        "Ingredients: Olea Europaea (Olive) Fruit Oil*, Wax.\n* organic ingredient"
    )
    assert label.organic_statement == ""  # the product is not sold as organic


@pytest.mark.parametrize(
    ("organic_g", "other_g", "statement"),
    [
        # Source: 7 CFR 205.301(a) to (c), 205.302(b): the percentage is rounded down.
        (1000, 0, "100 percent organic"),
        (950, 50, "95% organic ingredients"),
        ("949.9", "50.1", "Made with organic olive oil"),
        (700, 300, "Made with organic olive oil"),
    ],
)
def test_organic_statement_is_the_strongest_that_the_lot_supports(
    organic_g: int | str, other_g: int | str, statement: str
) -> None:
    build.workshop(certified_by="Evergrain Assurance")
    olive = build.oil("Olea Europaea Fruit Oil", "olive oil", organic_until=LATER)
    parts: list[build.Part] = [(olive, organic_g)]
    parts += [(build.oil("Wax"), other_g)] if other_g else []

    label = label_for(build.finished(parts, claims_organic=True))

    assert label.organic_statement.casefold() == statement.casefold()
    assert label.stops == ()
    # Source: 7 CFR 205.303(b)(2): below the name of the maker.
    assert label.lines.index(label.certifier_line) > label.lines.index("Wren Hollow Works")


def test_product_sold_as_organic_with_too_little_of_it_is_stopped() -> None:
    build.workshop()
    olive = build.oil("Olea Europaea Fruit Oil", organic_until=LATER)

    label = label_for(build.finished([(olive, 699), (build.oil("Wax"), 301)], claims_organic=True))

    assert label.organic_statement == ""
    assert label.stops == (
        "Hand salve 60 g is sold as organic. The lot is 69 % organic, "
        'and "made with organic" needs at least 70 %.',
    )


def test_name_that_says_organic_must_be_true_of_the_lot() -> None:
    build.workshop()
    olive = build.oil("Olea Europaea Fruit Oil", organic_until=LATER)
    parts: list[build.Part] = [(olive, 800), (build.oil("Wax"), 200)]

    label = label_for(build.finished(parts, label_name="Organic hand salve", claims_organic=True))

    assert label.stops == (
        "The name on the label says “organic”. The lot is 80 % organic, "
        'and "organic" needs at least 95 %.',
    )


def test_oil_stays_marked_when_its_certificate_ends_after_it_came_in() -> None:
    build.workshop()
    received = make.day(-177)
    olive = build.oil("Olea Europaea Fruit Oil", organic_until=make.day(-25), received_on=received)

    assert "*" in label_for(build.finished([(olive, 1000)])).declaration.text


def test_scent_that_is_not_organic_takes_the_word_and_the_seal_from_a_salve() -> None:
    """98 % organic, and orange oil is agricultural: 7 CFR 205.301(b) asks for the rest as well."""
    build.workshop()
    olive = build.oil("Olea Europaea Fruit Oil", organic_until=make.day(100))
    orange = goods.material("Orange oil", is_organic=False, status="agricultural")
    lot = build.finished([(olive, 980), (goods.lot(orange), 20)], claims_organic=True)
    label = label_for(lot)

    assert label.organic_statement == "Made with organic Olea Europaea Fruit Oil"
    assert label.classification.percent == 98
    assert label.classification.why_not == (
        "ORANGE OIL is an agricultural ingredient that is not organic. In a product called "
        "organic it must be organic, unless 7 CFR 205.606 lists it and no organic form is "
        "commercially available.",
    )
    assert "Do not show the USDA seal." in label.classification.may_not_say


@pytest.mark.parametrize(
    ("market", "contents", "date_line"),
    [
        (Market.US, "Net wt. 2.11 oz (60 g)", f"Best by {make.shown(months=12)}"),
        (Market.EU, "60 g (2.11 oz)", f"Best used before the end of: {make.shown(months=12)}"),
    ],
)
def test_net_contents_and_date_follow_the_market(
    market: Market, contents: str, date_line: str
) -> None:
    build.workshop(market=market)

    label = label_for(build.balm())

    assert (label.net_contents, label.date_line) == (contents, date_line)


@pytest.mark.parametrize(
    ("fill_g", "us", "eu"),
    [
        # 21 CFR 701.13(d), (j), (k): at most two decimals; from 4 lb in pounds.
        ("0.5", "Net wt. 0.01 oz (0.5 g)", "0.5 g (0.01 oz)"),
        ("4.25", "Net wt. 0.14 oz (4.25 g)", "4.25 g (0.14 oz)"),
        ("5", "Net wt. 0.17 oz (5 g)", "5 g (0.17 oz)"),
        ("500", "Net wt. 17.63 oz (1 lb 1.63 oz) 500 g", "500 g (17.63 oz)"),
        # Directive 76/211/EEC, Annex I, 3.1, in kg or g; what stands beside it is in pounds too.
        ("12000", "Net wt. 26.45 lb (12 kg)", "12 kg (26.45 lb)"),
        ("100000", "Net wt. 220.46 lb (100 kg)", "100 kg (220.46 lb)"),
    ],
)
def test_contents_of_very_small_and_very_large_packs_follow_the_market(
    fill_g: str, us: str, eu: str
) -> None:
    build.workshop()
    lot = build.balm(fill_g=fill_g, units=1)
    markets = {f"sold_in_{one}": True for one in ("us", "eu", "uk")}
    LabelDesign.objects.create(product=lot.item.product, **markets)

    lot = Lot.objects.get(pk=lot.pk)

    assert [label_for(lot, one).net_contents for one in ("US", "EU", "UK")] == [us, eu, eu]
    # 701.13(s): accurate; where the ounces say much less than the grams, the owner is told.
    told = [one for one in label_for(lot, "US").warnings if "third decimal" in one]
    assert told == {
        "0.5": ["“0.01 oz” is 0.28 g of the 0.5 g inside: 21 CFR 701.13(d) allows no third "
                "decimal. From 0.57 g on the label says 0.02 oz."],
        "4.25": ["“0.14 oz” is 3.97 g of the 4.25 g inside: 21 CFR 701.13(d) allows no third "
                 "decimal. From 4.26 g on the label says 0.15 oz."],
    }.get(fill_g, [])  # fmt: skip
    assert not any("third decimal" in one for one in label_for(lot, "UK").warnings)


def test_hourglass_stands_for_the_words_only_where_the_law_offers_it() -> None:
    # Source: Regulation (EC) 1223/2009, article 19(1)(c): the words, or the symbol of Annex VII.
    build.workshop()
    lot = build.balm(gtin="9521234543213")
    design = LabelDesign(product=lot.item.product, sold_in_eu=True, sold_in_us=True)
    design.has_hourglass = True
    design.save()
    build.sheet(lot.item.product, "EU", languages=["de", "fr"])
    lot.item.product.refresh_from_db()

    american, european = (label_for(lot, market) for market in ("US", "EU"))

    assert american.date_line == f"Best by {make.shown(months=12)}"
    assert european.date_line.startswith(f"{HOURGLASS} ")
    assert "Mindestens" not in european.text
    assert "Hourglass " in european.text
    drawn = dated(european.date_line)
    assert drawn.count("<svg") == 1
    assert HOURGLASS not in drawn


def test_volume_is_stated_in_the_units_of_each_market() -> None:
    build.workshop()
    lot = build.balm(fill_g="230", fill_ml=Decimal(250), density_g_per_ml=Decimal("0.92"))
    LabelDesign.objects.create(product=lot.item.product, sold_in_eu=True, sold_in_us=True)
    lot.item.product.refresh_from_db()

    said = {market: label_for(lot, market).net_contents for market in ("US", "EU")}

    assert said == {"US": "8.45 fl oz (250 mL)", "EU": "250 ml"}
    # 21 CFR 701.13 and the directive ask for letters as high as for a weight of that number.
    assert least_net_mm(label_for(lot, "EU"), Fraction(5)) > least_net_mm(
        label_for(lot, "US"), Fraction(5)
    )


def test_date_comes_from_the_lot_that_runs_out_first() -> None:
    build.workshop()
    melt = build.bulk([(build.oil("Oil"), 1000)], best_before=make.day(110))
    product = packing.product(bulk=melt.item, shelf_life_months=18)

    lot = packing.packed(product, 10, bulk=melt)

    assert label_for(lot).date_line == f"Best by {make.shown(110)}"
    assert [(reason.day, reason.text) for reason in queries.date_reasons(lot)] == [
        (make.day(110), f"lot {melt} of {melt.item}"),
        (make.day(months=18), f"packed on {make.shown()}, keeps 18 months"),
    ]


def test_rows_give_the_grams_in_the_bulk_that_was_taken() -> None:
    build.workshop()
    lot = build.finished([(build.oil("Oil"), 2), (build.oil("Wax"), 1)])
    run = PackingRun.objects.get(operation=lot.origin)

    found = rows(label_for(lot), queries.account(run).bulk_g)

    assert [(row.name, row.percent, row.grams) for row in found] == [
        ("Oil", Decimal("66.6667"), Decimal(400)),
        ("Wax", Decimal("33.3333"), Decimal(200)),
    ]


def test_label_without_a_workshop_says_where_to_enter_it() -> None:
    with pytest.raises(ActionRefused, match="Set-up → The workshop first"):
        label_for(build.balm())


def test_rejected_lot_gets_no_label() -> None:
    build.workshop()
    lot = build.balm()
    lot = ledger.set_lot_status(lot, Status.REJECTED, by=make.user(), at=make.NOON, reason="rancid")

    with pytest.raises(ActionRefused, match=f"Lot {lot} is rejected and gets no label."):
        label_for(lot)


def test_lot_that_was_bought_gets_no_label() -> None:
    build.workshop()
    lot = goods.lot()

    with pytest.raises(ActionRefused, match=f"Lot {lot} was not packed here, so it has no label."):
        label_for(lot)


def test_lot_of_unknown_composition_gets_no_label() -> None:
    build.workshop()
    lot = packing.packed()

    with pytest.raises(ActionRefused, match="Nothing is recorded as weighed into lot"):
        label_for(lot)


def test_lot_on_hold_must_not_be_labelled() -> None:
    build.workshop()
    lot = ledger.set_lot_status(
        build.balm(), Status.ON_HOLD, by=make.user(), at=make.NOON, reason="smell"
    )

    assert label_for(lot).stops == (f"Lot {lot} is on hold; an owner decides about it first.",)


def test_fragrance_in_the_eu_points_to_its_allergens() -> None:
    build.workshop(market=Market.EU)
    scent = build.oil("Lavender blend", constituency=Constituency.FRAGRANCE)

    label = label_for(build.finished([(build.oil("Oil"), 990), (scent, 10)]))

    assert list(label.declaration.names) == ["Oil", "Parfum"]
    assert "Allergens in it above their threshold must be named as well" in label.warnings[-1]


def test_label_is_held_to_the_limits_of_its_scheme_and_never_below_the_rule() -> None:
    build.workshop()
    olive = build.oil("Olea Europaea Fruit Oil", "olive oil", organic_until=LATER)
    lot = build.finished([(olive, 960), (build.oil("Tocopherol"), 40)], claims_organic=True)
    scheme = OrganicScheme(code="NOP", name="Program", source="Text", known_on=make.DAY)

    said = {}
    for organic_from in (95, 97, 80):
        scheme.organic_from, scheme.made_with_from = Decimal(organic_from), Decimal(70)
        save_with_history(scheme, by=make.user(), at=make.NOON)
        said[organic_from] = label_for(lot).wording.claim

    assert said == {95: "organic", 97: "made with organic", 80: "organic"}
    assert limits_of() == Limits()


def test_scheme_of_the_certifier_has_limits_of_its_own() -> None:
    scheme = OrganicScheme(
        code="EG", name="Evergrain", source="Its standard", known_on=make.DAY,
        organic_from=Decimal(90), made_with_from=Decimal("72.5"),
    )  # fmt: skip
    save_with_history(scheme, by=make.user(), at=make.NOON)

    assert limits_of("EG") == Limits(Decimal(90), Decimal("72.5"))
    assert limits_of("unknown") == Limits()
