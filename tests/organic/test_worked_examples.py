"""7 CFR 205.301 and 205.302 worked through the kettle; the prohibited is refused by its way."""

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest

from tests import make
from tests.goods_in import build as goods
from tests.labels import build
from tests.labels.build import Part
from tests.labels.test_print_status import Bench
from workshop.core.errors import ActionRefused
from workshop.core.models import Role, User
from workshop.goods_in.lot_composition import composition_of
from workshop.ledger.models import Lot
from workshop.materials.models import Constituency
from workshop.rules.ingredients.organic_share import organic_classification

pytestmark = pytest.mark.django_db
LATER = make.DAY + timedelta(days=365)


def organic(name: str) -> Lot:
    return build.oil(name, organic_until=LATER)


def weighed(**grams: str) -> list[Part]:
    """Organic oil, another that is on the National List, added water, salt."""
    lots: dict[str, Callable[[], Lot]] = {
        "oil": lambda: organic("Sunflower Seed Oil"),
        "other": lambda: build.oil("Tocopherol", status="listed_b"),
        "water": lambda: build.oil("Aqua", constituency=Constituency.WATER),
        "salt": lambda: build.oil("Sodium Chloride", constituency=Constituency.SALT),
    }
    return [(lots[name](), Decimal(g)) for name, g in grams.items()]


@pytest.mark.parametrize(
    ("grams", "poured_g", "percent", "category"),
    [  # Computed by 205.302(a) with 205.301: water and salt left out, rounded down (b).
        ({"oil": "500"}, 500, 100, "100 percent organic"),
        ({"oil": "300", "water": "200"}, 500, 100, "100 percent organic"),
        ({"oil": "999.9", "other": "0.1"}, 1000, 99, "organic"),
        ({"oil": "950", "other": "50"}, 1000, 95, "organic"),
        ({"oil": "949.9", "other": "50.1"}, 1000, 94, "made with organic"),
        ({"water": "600", "oil": "380", "other": "20"}, 1000, 95, "organic"),
        ({"water": "600", "oil": "379", "other": "21"}, 1000, 94, "made with organic"),
        ({"salt": "500", "oil": "350", "other": "150"}, 1000, 70, "made with organic"),
        ({"salt": "500", "oil": "349", "other": "151"}, 1000, 69, "below 70"),
        # By what went in, not by what was poured (the rule in use since 19 March 2024).
        ({"oil": "475", "other": "25"}, 460, 95, "organic"),
    ],
)
def test_each_category_from_what_was_weighed(
    grams: dict[str, str], poured_g: int, percent: int, category: str
) -> None:
    lot = build.bulk(weighed(**grams), made_g=poured_g)

    standing = organic_classification(composition_of(lot))

    assert (standing.percent, standing.category) == (percent, category)


def test_bulk_that_goes_into_another_counts_with_its_own_organic_share() -> None:
    # A multi-ingredient part counts with the organic content it has, not with 100 (from memory).
    base = build.bulk(weighed(oil="960", other="40"))
    lot = build.bulk([(base, 500), (organic("Beeswax"), 300)])

    # 480 of the base and 300 of 800.
    assert organic_classification(composition_of(lot)).percent == 97


def prohibited(why: str) -> Lot:
    lot = build.oil("Paprika Extract", status="")
    goods.organic_status(lot.item, "prohibited", annotation=why)
    return lot


def with_status(status: str) -> Lot:
    return build.oil("Paprika Extract", status=status)


# How it was made or what was added, as the owner enters it.
HOW = [
    "made by excluded methods (205.301(f)(1))",
    "grown with sewage sludge (205.301(f)(2))",
    "irradiated (205.301(f)(3))",
    "made with an aid that no list names (205.301(f)(4))",
    "holds sulfites that were added (205.301(f)(5))",
]


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


def refused(extra: Lot, by: User, name: str = "Organic hand salve") -> str:
    """What an owner is told who would call a salve organic that is 98 % so, with 2 % of this."""
    bench = Bench(claims_organic=True)
    lot = bench.lot((bench.olive, 980), (extra, 20))
    with pytest.raises(ActionRefused) as told:
        bench.approve(lot, by, name=name)
    return told.value.message


@pytest.mark.parametrize("how", HOW)
@pytest.mark.parametrize("name", ["Organic hand salve", "Salve made with organic Olea Oil"])
def test_what_is_prohibited_is_refused_under_any_claim_with_its_way(
    how: str, name: str, owner: User
) -> None:
    assert f"Paprika Extract is prohibited or not allowed: {how}." in refused(
        prohibited(how), owner, name
    )


@pytest.mark.parametrize(
    ("status", "reason"),
    [  # 205.301(b) and (f)(6), 205.605, 205.606
        (
            "agricultural",
            "it must be organic, unless 7 CFR 205.606 lists it and no organic form is "
            "commercially available",
        ),
        ("listed_606", "no search shows that no organic form is commercially available"),
        ("listed_made_with", "is listed only for products made with organic ingredients"),
        ("", "nothing says what else it is"),
    ],
)
def test_rest_that_may_not_be_in_an_organic_product_is_refused_with_its_reason(
    status: str, reason: str, owner: User
) -> None:
    told = refused(with_status(status), owner)

    assert "Paprika Extract" in told
    assert reason in told


def test_both_forms_of_one_oil_are_refused(owner: User) -> None:
    # 205.301(f)(7)
    told = refused(build.oil("Olea Oil", status="agricultural"), owner)

    assert "Olea Oil is in the lot both as organic and as not organic" in told


@pytest.mark.parametrize("status", ["listed_a", "listed_b"])
def test_rest_that_a_list_names_stands_in_no_way(status: str, owner: User) -> None:
    bench = Bench(claims_organic=True)
    lot = bench.lot((bench.olive, 980), (with_status(status), 20))

    assert bench.approve(lot, owner, name="Organic hand salve").state == "approved"
