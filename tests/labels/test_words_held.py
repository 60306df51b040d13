"""What an approved label says beyond its list, held against the lot and the workshop of today."""

from copy import copy
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from tests import make
from tests.labels.test_print_status import Bench, design, underfilled
from tests.packing import build as packing
from workshop.core.errors import ActionRefused
from workshop.core.markets import (
    Market,
)
from workshop.core.models import (
    Role,
    User,
    Workshop,
)
from workshop.labels.approval.print_status import label_status
from workshop.labels.layout.least_type import least_net_mm
from workshop.labels.models import LabelDesign
from workshop.labels.services.decisions import decide
from workshop.ledger.models import Lot

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.mark.parametrize(
    ("words_of", "sentence"),
    [
        ({"name": "Organic hand salve"}, '"organic" needs at least 95 %'),
        ({"claims": "100% organic"}, '"100 percent organic" needs at least 100 %'),
        ({"claims": "with 85 % organic oils"}, "states 85 % organic ingredients"),
        ({"identity": "made with organic wax"}, None),
    ],
)
def test_words_that_claim_more_than_is_in_the_lot_are_not_approved(
    words_of: dict[str, str], sentence: str | None, owner: User
) -> None:
    # Source: 7 CFR 205.301(b), (c); this lot is 80 % organic.
    bench = Bench(claims_organic=True)
    lot = bench.usual()

    if sentence is None:
        assert bench.approve(lot, owner, **words_of).state == "approved"
        return
    with pytest.raises(ActionRefused) as refused:
        bench.approve(lot, owner, **words_of)
    assert sentence in refused.value.message


def test_organic_statement_is_the_computed_one_or_none(owner: User) -> None:
    bench = Bench(claims_organic=True)
    lot = bench.usual()

    with pytest.raises(ActionRefused, match="The organic statement follows from what was weighed"):
        bench.approve(lot, owner, organic_statement="Made with organic olive oil and beeswax")
    assert bench.approve(lot, owner, organic_statement="").organic_statement == ""


def test_certifier_that_is_no_longer_the_workshops_makes_the_label_untrue(owner: User) -> None:
    # Source: 7 CFR 205.303(b)(2), 205.304(b)(2): the certifying agent of the handler is named.
    bench = Bench(claims_organic=True)
    lot = bench.usual()
    bench.approve(lot, owner)
    Workshop.objects.update(certified_by="Tern Certifiers")

    assert [one.sentence for one in label_status(lot).untrue] == [
        "The approved label says “Certified organic by Evergrain Assurance”, and Set-up now gives "
        "“Certified organic by Tern Certifiers” for the workshop."
    ]


def test_e_mark_holds_only_for_runs_whose_fill_check_bears_it_out(owner: User) -> None:
    # Source: Directive 76/211/EEC: the packer who marks answers for the check.
    bench = Bench(market=Market.EU)
    first = bench.usual()
    design(bench.product, owner, has_e_mark=True)
    packing.weighed(packing.run_of(first), " ".join(["60.4"] * 10))
    first = Lot.objects.get(pk=first.pk)
    version = bench.approve(first, owner)
    later = bench.usual()

    assert "\u212e" in version.net_contents
    # The mark is at least 3 mm high (French order of 20 October 1978, article 2.3), though the
    # figures of 50 g and less need 2 mm; it is 0.66 of its type, whose small o is 0.486.
    label = label_status(first).label
    small = replace(label, product=copy(label.product))
    small.product.fill_g = Decimal(30)
    assert least_net_mm(small, Fraction(5)) / Decimal("0.486") * Decimal("0.66") >= 3
    bare = replace(small, net_contents="30 g")
    assert least_net_mm(bare, Fraction(5)) / Decimal("0.486") * Decimal("0.638") == 2
    assert [one.sentence for one in label_status(later).untrue] == [
        f"The approved label carries the e mark, and no fill check of the run of lot {later} "
        "supports it."
    ]


def test_lot_without_a_date_bears_out_no_stated_shelf_life(owner: User) -> None:
    bench = Bench()
    first = bench.usual()
    design(bench.product, owner, keeps_months=12)
    bench.approve(Lot.objects.get(pk=first.pk), owner)
    parts: tuple[Any, ...] = ((bench.olive, 800), (bench.wax, 195), (bench.vitamin, 5))
    lot = bench.lot(*parts, best_before=None)

    assert [one.sentence for one in label_status(Lot.objects.get(pk=lot.pk)).untrue] == [
        "The approved label says it keeps 12 months, which from "
        f"{make.shown()} is to {make.shown(months=12)}, "
        f"and nothing says how long lot {lot} keeps."
    ]


def test_eu_label_needs_a_date_or_the_months_of_its_own(owner: User) -> None:
    # Source: Regulation (EC) 1223/2009, article 19(1)(c).
    bench = Bench(market=Market.EU)
    lot = bench.usual()
    bench.approve(lot, owner)
    design(bench.product, owner, opened_months=12)
    make.dated(lot, None)

    standing = label_status(Lot.objects.select_related("item__product").get(pk=lot.pk))

    assert LabelDesign.objects.get().opened_months == 12
    assert f"Lot {lot} has no best-before date, and the EU asks for one." in standing.stops


def test_underfilled_lot_is_true_of_nothing_it_is_relabelled_with(owner: User) -> None:
    lot = underfilled(Bench(), owner)

    with pytest.raises(ActionRefused, match="does not correct this"):
        decide(lot, "relabel", by=owner, at=make.NOON, reason="Stock.", token="d")
