"""Products sold by volume: entered in millilitres, filled and checked by weight."""

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from tests import make
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.packing import build
from workshop.core.errors import ActionRefused
from workshop.ledger.models import ItemKind
from workshop.packing.fill_control.figures import check_of
from workshop.packing.fills import formula_density, read_fill
from workshop.packing.models import Product
from workshop.packing.product_forms import ProductForm, facts_of
from workshop.packing.promises import promise_us, stated_eu

pytestmark = pytest.mark.django_db

OIL = Decimal("0.92")


def bottle(fill: str = "250 mL") -> Product:
    values: dict[str, Any] = {**read_fill(fill, OIL, None)}
    return build.product(name="Body oil", unit_name="bottle", **values)


def typed(**values: object) -> ProductForm:
    product = bottle()
    base = facts_of(product) | {
        "code": "OIL-2", "name": "Oil", "bulk": product.bulk_id, "container": product.container_id,
        "gtin": "",
    }  # fmt: skip
    return ProductForm({key: value for key, value in (base | values).items() if value is not None})


def test_volume_and_its_density_are_the_weight_that_is_filled() -> None:
    product = bottle()

    assert (product.fill_g, product.fill) == (Decimal("230.000"), "250\u202fmL (230.0\u202fg)")
    assert promise_us(product).text == "8.45 fl oz (250 mL)"
    assert stated_eu(product, e_mark=True) == "250 ml ℮"
    assert stated_eu(build.product()) == "60 g"


def test_form_takes_a_weight_or_a_volume_and_asks_for_its_density() -> None:
    form = typed(fill_g="8 fl oz", density_g_per_ml="0.95")
    assert form.is_valid(), form.errors
    facts = form.facts()
    assert (facts.fill_ml, facts.density_g_per_ml) == (Decimal("236.588"), Decimal("0.95"))
    assert facts.fill_g == Decimal("224.759")
    # A weight has no density, whatever was typed beside it.
    form = typed(fill_g="60", density_g_per_ml="0.95")
    assert form.is_valid()
    assert (form.facts().fill_g, form.facts().density_g_per_ml) == (Decimal(60), None)
    for field, values, sentence in (
        ("density_g_per_ml", {"density_g_per_ml": ""}, "weigh 100 mL of it at 20 °C"),
        ("density_g_per_ml", {"density_g_per_ml": "9"}, ""),
        ("fill_g", {"fill_g": "much"}, "much"),
        ("fill_g", {"fill_g": "0 mL"}, "above zero"),
    ):
        form = typed(**values)
        assert list(form.errors) == [field]
        assert sentence in form.errors[field][0]


def test_density_is_reckoned_from_the_formula_where_all_its_parts_have_one() -> None:
    light, heavy = (goods.material(density_g_per_ml=Decimal(one)) for one in ("0.92", "1.26"))
    bulk, unknown = make.item(ItemKind.BULK), make.item(ItemKind.BULK)
    lines = (formulas.line(60, light), formulas.line(40, heavy))
    formulas.approved(*lines, of=formulas.formula(bulk))

    assert formula_density(bulk) == Decimal("1.0313")
    assert read_fill("100 mL", None, bulk)["fill_g"] == Decimal("103.130")
    assert formula_density(unknown) is None
    lines = (formulas.line(60, light), formulas.line(40, goods.material()))
    formulas.approved(*lines, of=formulas.formula(unknown))
    with pytest.raises(ActionRefused, match="needs the density"):
        read_fill("100 mL", None, unknown)


def test_fill_is_held_to_the_volume_by_its_weight() -> None:
    # Directive 76/211/EEC, Annex I, 2.4: 250 mL may be 9 mL short: 8.28 g at 0.92 g/mL.
    run = build.run(bottle(), 40)
    for sets, short in (("0", False), ("-17", True)):
        build.weighed(run, build.errors(230, sets + " 1.5" * 11))
        eu, us = check_of(run).eu, check_of(run).us
        assert (eu.promised_g, eu.shortage_g) == (Fraction(230), Fraction("8.28"))
        assert "below 221.72" in eu.may_be_short
        assert us.promised_g == Fraction(230)
        assert "table of its own" in us.note
        assert bool(eu.problems) is short
        run = build.run(bottle("0.25 L"), 40)


def test_volume_without_a_density_is_refused_by_the_database() -> None:
    product = bottle()
    for broken in ({"fill_ml": None}, {"density_g_per_ml": None}, {"density_g_per_ml": 9}):
        with pytest.raises(IntegrityError), transaction.atomic():
            Product.objects.filter(pk=product.pk).update(**broken)
