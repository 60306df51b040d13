"""The bench as a person meets it: change a share, swap an oil, see which labels, keep a draft."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from tests import make
from tests.costs import build as costs
from tests.formulas import build as formulas
from tests.goods_in import build as goods
from tests.kettle import build as kettle
from tests.labels import build as labels
from tests.workbench import build
from workshop.core.models import Role
from workshop.formulas import services as formula_services
from workshop.formulas.models import Version, VersionStatus
from workshop.labels.models import LabelVersion
from workshop.labels.services import versions
from workshop.labels.services.rolls import note_roll

pytestmark = pytest.mark.django_db


@pytest.fixture
def shop() -> build.Shop:
    labels.workshop()
    costs.rates(labour="24")
    lots = [
        build.material("Helianthus Annuus Seed Oil", "12"),
        build.material("Cera Alba", "22"),
        build.material("Theobroma Cacao Seed Butter", "13"),
    ]
    made = build.shop(lots, ["60", "25", "15"])
    labels.sheet(made.product)
    draft = versions.draft_from_formula(made.product, "US", by=made.owner, at=make.NOON)
    versions.approve(draft, by=made.owner, at=make.NOON)
    kettle.scale("0.1")
    return made


@pytest.fixture
def owner(client: Client) -> Client:
    client.force_login(make.user(Role.OWNER))
    return client


class Bench:
    """The page with its form, as a browser would send it."""

    def __init__(self, client: Client, shop: build.Shop, query: str = "") -> None:
        self.client = client
        self.address = reverse("workbench:bench", args=[shop.formula.pk]) + query
        self.take(client.get(self.address))

    def take(self, answer: Any) -> None:
        self.answer, self.page = answer, answer.context["page"]
        self.text = answer.content.decode()
        self.typed: dict[str, Any] = {}
        for form in [self.page.head, *self.page.rows, self.page.rows.management_form]:
            for field in form:
                value = field.value()
                self.typed[field.html_name] = "" if value is None else value

    def send(self, **typed: Any) -> Any:
        changed = {name.replace("__", "-"): value for name, value in typed.items()}
        return self.client.post(self.address, {**self.typed, **changed})

    def shares(self) -> list[str]:
        return [str(line.share.normalize()) for line in self.page.lines]

    def figure(self, name: str) -> Any:
        return next(one for one in self.page.compared.figures if one.name.startswith(name))


def test_one_share_is_changed_and_the_rest_follows(owner: Client, shop: build.Shop) -> None:
    """60, 25 and 15: with 40 of the first, 37.5 and 22.5 stand in the same proportion."""
    bench = Bench(owner, shop)
    assert bench.shares() == ["6E+1", "25", "15"]
    bench.take(bench.send(lines__0__share="40"))
    assert [line.share for line in bench.page.lines] == [40, Decimal("37.5"), Decimal("22.5")]
    assert "from 60\u202f% to 40\u202f%" in bench.text


def test_one_named_line_gives_way(owner: Client, shop: build.Shop) -> None:
    bench = Bench(owner, shop)
    gives = str(shop.lots[1].item_id)
    bench.take(bench.send(lines__0__share="50", gives_way=gives))
    assert [line.share for line in bench.page.lines] == [50, 35, 15]


def test_more_than_all_is_told_and_what_was_typed_stays(owner: Client, shop: build.Shop) -> None:
    bench = Bench(owner, shop)
    answer = bench.send(lines__0__share="90", lines__1__share="20")
    assert "more than 100 % together" in answer.content.decode()
    assert 'value="90"' in answer.content.decode()


def test_swapped_oil_makes_the_label_untrue(owner: Client, shop: build.Shop) -> None:
    """Rapeseed oil at 4 a kilogram for sunflower oil at 12: 60 % of 8, by 98 % that is poured."""
    new = build.material("Brassica Campestris Seed Oil", "4").item
    bench = Bench(owner, shop)
    assert bench.page.compared.labels[0].new == []
    bench.take(bench.send(lines__0__item=new.name))
    assert "4.90 EUR less a kilogram, one label untrue" in bench.text
    (label,) = bench.page.compared.labels
    assert any("holds none" in one for one in label.new)
    assert any("does not name it" in one for one in label.new)
    rows = {row.name: row.change for row in bench.page.compared.lists[0].now}
    assert [change for name, change in rows.items() if "BRASSICA" in name.upper()] == ["new"]
    assert [change for name, change in rows.items() if "HELIANTHUS" in name.upper()] == ["gone"]


def test_added_material_takes_from_the_rest(owner: Client, shop: build.Shop) -> None:
    new = build.material("Borago Officinalis Seed Oil", "40").item
    bench = Bench(owner, shop)
    bench.take(bench.send(lines__3__item=new.code, lines__3__share="20"))
    assert [line.share for line in bench.page.lines] == [48, 20, 12, 20]
    bench.take(bench.send(lines__3__item=""))
    assert [line.share for line in bench.page.lines] == [60, 25, 15]


def test_another_lot_has_its_own_price(owner: Client, shop: build.Shop) -> None:
    dear = goods.lot(shop.lots[0].item, grams=50_000)
    costs.paid(dear, "1000")  # 20 a kilogram, and not 12
    bench = Bench(owner, shop)
    bench.take(bench.send(lines__0__lot=str(dear.pk)))
    assert "4.90 EUR more a kilogram" in bench.text


def test_less_filled_than_the_label_promises(owner: Client, shop: build.Shop) -> None:
    bench = Bench(owner, shop)
    bench.take(bench.send(fill_g="55"))
    (label,) = bench.page.compared.labels
    assert any("a unit would hold 55" in one for one in label.new)


def test_smallest_batch_of_each_scale_follows_the_smallest_share(
    owner: Client, shop: build.Shop
) -> None:
    bench = Bench(owner, shop)
    (before,) = bench.page.compared.scales
    bench.take(bench.send(lines__2__share="0.5"))
    (after,) = bench.page.compared.scales
    assert before[1] == before[2] == after[1] != after[2]


def test_kept_as_draft_once(owner: Client, shop: build.Shop) -> None:
    """The shares as tried, all else as in the version; sent twice it is one draft."""
    bench = Bench(owner, shop)
    bench.take(bench.send(lines__0__share="40"))
    for _ in range(2):
        answer = bench.send(keep="yes")
        draft = Version.objects.get(formula=shop.formula, status=VersionStatus.DRAFT)
        assert answer["Location"] == reverse("formulas:version", args=[draft.pk])
    shares = [line.share for line in draft.lines.all()]
    assert shares == [40, Decimal("37.5"), Decimal("22.5")]
    assert draft.shelf_life_months == shop.version.shelf_life_months
    assert [step.text for step in draft.steps.all()] == [
        step.text for step in shop.version.steps.all()
    ]


def test_second_draft_is_refused_and_the_draft_itself_is_tried_on(
    owner: Client, shop: build.Shop
) -> None:
    draft = formula_services.new_version(
        shop.formula, by=shop.owner, at=make.NOON, like=shop.version
    )
    bench = Bench(owner, shop)
    answer = bench.send(lines__0__share="40", keep="yes")
    assert "is still a draft" in answer.content.decode()
    bench = Bench(owner, shop, f"?left={shop.version.pk}&right={draft.pk}")
    bench.take(bench.send(lines__0__share="40"))
    bench.send(keep="yes")
    assert next(line.share for line in draft.lines.all()) == 40


def test_two_versions_side_by_side(owner: Client, shop: build.Shop) -> None:
    lines = [
        formulas.line(s, lot.item) for s, lot in zip(["50", "30", "20"], shop.lots, strict=True)
    ]
    second = formulas.draft(*lines, of=shop.formula)
    bench = Bench(owner, shop, f"?left={shop.version.pk}&right={second.pk}")
    assert "from 60\u202f% to 50\u202f%" in bench.text
    back = Bench(owner, shop, f"?left={second.pk}&right={shop.version.pk}")
    assert "from 50\u202f% to 60\u202f%" in back.text


def test_label_of_what_the_bulk_goes_into(owner: Client, shop: build.Shop) -> None:
    """An infusion is in the salve: another oil in it makes the salve's label untrue."""
    oil = build.material("Olea Europaea Fruit Oil", "9")
    base = build.shop([oil], ["100"], "Infusion")
    lines = [formulas.line(50, base.bulk), formulas.line(50, shop.lots[1].item)]
    salve = formulas.formula(shop.product.bulk, name="Salve of an infusion")
    Version.objects.filter(formula=shop.formula).update(status=VersionStatus.RETIRED)
    formulas.approved(*lines, of=salve)
    bench = Bench(owner, base)
    new = build.material("Brassica Campestris Seed Oil", "4").item
    bench.take(bench.send(lines__0__item=new.name))
    told = [one for row in bench.page.compared.labels for one in row.new]
    assert any("BRASSICA" in one.upper() for one in told)


def test_unknown_material_is_told_beside_its_field(owner: Client, shop: build.Shop) -> None:
    answer = Bench(owner, shop).send(lines__0__item="Moon dust")
    assert "“Moon dust” is not in the book" in answer.content.decode()


def test_material_twice_is_refused(owner: Client, shop: build.Shop) -> None:
    answer = Bench(owner, shop).send(lines__0__item=shop.lots[1].item.name)
    assert "stands there twice" in answer.content.decode()


def test_trying_writes_nothing(owner: Client, shop: build.Shop) -> None:
    bench = Bench(owner, shop)
    with CaptureQueriesContext(
        connection,
    ) as seen:
        bench.send(lines__0__share="40")
    written = [one["sql"] for one in seen if one["sql"].startswith(("INSERT", "UPDATE", "DELETE"))]
    assert [sql for sql in written if "session" not in sql] == []


def test_as_many_queries_for_any_number_of_lines(owner: Client, shop: build.Shop) -> None:
    """A formula of 3 lines and one of 12 ask as often."""

    def asked(of: build.Shop) -> int:
        address = reverse("workbench:bench", args=[of.formula.pk])
        owner.get(address)
        with CaptureQueriesContext(connection) as seen:
            owner.get(address)
        return len(seen)

    lots = [build.material(f"Seed Oil {at}", "5") for at in range(12)]
    large = build.shop(lots, ["8"] * 11 + ["12"], "Large")
    labels.sheet(large.product)
    draft = versions.draft_from_formula(large.product, "US", by=large.owner, at=make.NOON)
    versions.approve(draft, by=large.owner, at=make.NOON)
    assert asked(large) == asked(shop)


def test_part_of_the_page_for_the_script(owner: Client, shop: build.Shop) -> None:
    bench = Bench(owner, shop)
    answer = owner.post(bench.address, bench.typed, headers={"X-Bench": "part"})
    text = answer.content.decode()
    assert text.lstrip().startswith("<h1")
    assert "<html" not in text


def test_printed_rolls_that_could_not_be_used(owner: Client, shop: build.Shop) -> None:
    """A roll that carries the label dies with it."""
    roll = goods.lot(goods.packaging(), grams=340)
    version = LabelVersion.objects.approved().get(product=shop.product)
    note_roll(roll, version, by=shop.owner, at=make.NOON, token="r")
    new = build.material("Brassica Campestris Seed Oil", "4").item
    bench = Bench(owner, shop)
    assert "340" in bench.text
    bench.take(bench.send(lines__0__item=new.name))
    assert "one label untrue, one printed roll of no use" in bench.text
    assert "which could not be used" in bench.text
