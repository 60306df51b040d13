"""Pages of what labels are made from, and of what happens to a run's labels."""

from decimal import Decimal
from io import BytesIO
from itertools import combinations
from typing import Any

import pytest
from django.db import IntegrityError
from django.test import Client
from django.urls import reverse
from pypdf import PdfReader

from tests import make
from tests.kettle import build as kettle
from tests.labels import build, paper
from tests.labels.test_print_status import Bench, extra, underfilled
from workshop.core.models import Role, User
from workshop.core.saving.new_tokens import new_token
from workshop.kettle import services as kettle_services
from workshop.labels import services
from workshop.labels.content.label import label_for
from workshop.labels.content.required_warnings import CHOICES
from workshop.labels.models import Decision, LabelDesign, LabelVersion, OwnSize, Print
from workshop.labels.services import versions
from workshop.ledger.models import ItemKind, Lot
from workshop.ledger.services import discard, on_hand

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return make.user(Role.OWNER)


@pytest.fixture
def desk(client: Client, owner: User) -> Client:
    client.force_login(owner)
    return client


@pytest.fixture
def bench(owner: User) -> Client:
    """The packer's browser."""
    client = Client()
    client.force_login(make.user(Role.PACKER))
    return client


def text(response: Any) -> str:
    """The page's words with single spaces."""
    return " ".join(response.content.decode().split())


DESIGN = {
    "sold_in_us": "on", "sold_in_eu": "on", "claims": "Unscented", "statements": ["safety"],
    "soap_naming": "added", "ounce_decimals": "2",
    "keeps_months": "", "opened_months": "12", "code": "datamatrix",
    "link_base": "", "panel": "lid", "panel_width_mm": "60", "panel_height_mm": "",
}  # fmt: skip


def test_design_is_kept_and_the_label_follows(desk: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    address = reverse("labels:design", args=[lot.item.code])

    answer = desk.post(address, DESIGN, follow=True)

    design = LabelDesign.objects.get()
    shown = [market for market in ("US", "EU", "UK") if f">{market}</a>" in text(answer)]
    assert shown == ["US", "EU"]
    assert (design.code, design.panel_width_mm, design.statements) == (
        "datamatrix",
        Decimal(60),
        ["safety"],
    )
    page = text(desk.get(reverse("labels:label", args=[lot.code])))
    assert "The safety of this product has not been determined." in page
    assert "Unscented" in page
    assert '<a href="?market=EU">EU</a>' in page


def test_warning_of_unproven_safety_comes_with_what_the_law_asks_for_first(desk: Client) -> None:
    # Source: 21 CFR 740.10; 21 U.S.C. 364d, from memory.
    build.workshop()
    lot = build.balm(is_small_package=True)
    address = reverse("labels:design", args=[lot.item.code])

    form = text(desk.get(address))
    desk.post(address, DESIGN)
    page = text(desk.get(reverse("labels:label", args=[lot.code])))
    desk.post(address, DESIGN | {"statements": ["tanning"]})
    without = text(desk.get(reverse("labels:label", args=[lot.code])))

    for shown in (form, page):
        assert "adequate proof that a cosmetic is safe before it is sold (21 U.S.C. 364d)" in shown
        assert "is no way around it" in shown
    assert "364d" not in without


def test_page_says_of_no_rule_that_it_is_from_memory(desk: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)

    form = text(desk.get(reverse("labels:design", args=[lot.item.code])))

    assert "21 CFR 740.19" in form
    assert "from memory" not in form
    assert [words for key, words in CHOICES if "memory" in words] == []


@pytest.mark.parametrize("typed", ["0", "1"])
def test_decimals_that_lose_too_much_are_told_by_their_field(desk: Client, typed: str) -> None:
    build.workshop()
    lot = build.finished([(build.oil("Oil"), 900), (build.oil("Wax"), 100)], fill_g=30)

    page = desk.post(
        reverse("labels:design", args=[lot.item.code]), DESIGN | {"ounce_decimals": typed}
    )

    (sentence,) = page.context["form"].errors["ounce_decimals"]
    assert sentence.endswith("for 1.05 oz, more than a hundredth too little. State more decimals.")
    assert not LabelDesign.objects.exists()


def test_label_states_the_decimals_that_the_owner_chose(desk: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    assert label_for(lot).net_contents == "Net wt. 2.11 oz (60 g)"

    desk.post(reverse("labels:design", args=[lot.item.code]), DESIGN | {"ounce_decimals": "1"})

    label = label_for(Lot.objects.get(pk=lot.pk))
    assert label.net_contents == "Net wt. 2.1 oz (60 g)"
    assert label.wording.promise.ounces == Decimal("2.1")


def test_panel_without_its_measures_is_refused_and_keeps_the_typing(desk: Client) -> None:
    build.workshop()
    lot = build.balm()
    page = desk.post(
        reverse("labels:design", args=[lot.item.code]), DESIGN | {"panel_width_mm": ""}
    )

    assert page.context["form"].non_field_errors() == [
        "Give the measures of the main panel, above zero."
    ]
    assert "Unscented" in text(page)
    assert not LabelDesign.objects.exists()


def test_button_pressed_twice_makes_one_draft(desk: Client) -> None:
    lot = Bench().usual()
    address = reverse("labels:draft", args=[lot.item.code, "US"])

    first, second = (desk.post(address, {"lot": lot.code}) for _ in range(2))

    assert first["Location"] == second["Location"]
    assert LabelVersion.objects.count() == 1


def test_draft_worded_anew_stays_beside_a_fresh_one(desk: Client) -> None:
    lot = Bench().usual()
    address = reverse("labels:draft", args=[lot.item.code, "US"])
    made = desk.post(address, {"lot": lot.code}, follow=True)
    words = {name: value or "" for name, value in made.context["form"].initial.items()}
    version = reverse("labels:version", args=[LabelVersion.objects.get().pk])
    desk.post(version, words | {"directions": "Use sparingly."})

    desk.post(address, {"lot": lot.code})

    said = LabelVersion.objects.order_by("number").values_list("number", "directions")
    assert list(said) == [(1, "Use sparingly."), (2, words["directions"])]


def test_label_is_drafted_worded_and_approved(desk: Client, bench: Client) -> None:
    world = Bench()
    lot = world.usual()
    build.sheet(lot.item.product)
    made = desk.post(
        reverse("labels:draft", args=[lot.item.code, "US"]), {"lot": lot.code}, follow=True
    )
    version = LabelVersion.objects.get()
    words = {name: value or "" for name, value in made.context["form"].initial.items()}

    desk.post(
        reverse("labels:version", args=[version.pk]), words | {"directions": "Use sparingly."}
    )
    page = desk.post(
        reverse("labels:approve", args=[version.pk]), {"reason": "First."}, follow=True
    )

    assert "is approved; its words are fixed." in text(page)
    assert "Use sparingly." in text(page)
    label = text(bench.get(reverse("labels:label", args=[lot.code])))
    assert "matches this lot" in label
    assert "Use sparingly." in label
    assert "Approve these words" not in text(
        bench.get(reverse("labels:version", args=[version.pk]))
    )


def test_draft_that_would_be_untrue_says_so_beside_its_picture(desk: Client, owner: User) -> None:
    world = Bench()
    draft = versions.draft_from_lot(world.usual(), "US", by=owner, at=make.NOON)
    page = desk.get(reverse("labels:version", args=[draft.pk]))
    words = {name: value or "" for name, value in page.context["form"].initial.items()}
    words["names"] = "Beeswax\nOlea Oil\nTocopherol"

    seen = text(desk.post(reverse("labels:typed", args=[draft.pk]), words))

    assert "data:image/png;base64," in seen
    assert "The approved label lists Beeswax before Olea Oil" in seen
    assert LabelVersion.objects.get().entries[0]["name"] == "Olea Oil"


@pytest.mark.parametrize(
    ("field", "typed", "sentence"),
    [
        ("names", "Olea Oil", "The list holds other names than were computed."),
        ("fixed_date", make.iso(37), "Give a date if the artwork carries one, else none."),
        ("date_style", "jar", "The open jar needs its months."),
        ("name", "", "This field is required."),
    ],
)
def test_odd_words_are_refused_beside_their_field(
    desk: Client, owner: User, field: str, typed: str, sentence: str
) -> None:
    draft = versions.draft_from_lot(Bench().usual(), "US", by=owner, at=make.NOON)
    address = reverse("labels:version", args=[draft.pk])
    words = {n: v or "" for n, v in desk.get(address).context["form"].initial.items()}

    page = desk.post(address, words | {field: typed})

    assert sentence in text(page)


def test_packer_is_told_why_nothing_is_printed(desk: Client, bench: Client, owner: User) -> None:
    lot = underfilled(Bench(), owner)

    label = text(bench.get(reverse("labels:label", args=[lot.code])))
    printing = bench.post(
        reverse("labels:print", args=[lot.code]),
        {"token": "t", "layout": "100x100", "count": "10"},
    )

    for page in (label, text(printing)):
        assert "the 10 units of this run hold 58.8 g on average" in page
    assert "Print labels" not in label
    assert "Nothing is printed until an owner corrects the label or holds the lot." in label
    assert not Print.objects.exists()


def test_owner_decides_and_stickers_are_printed(desk: Client, bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)
    address = reverse("labels:decide", args=[lot.code])

    asked = desk.post(address, {"token": "t", "kind": "relabel", "reason": ""})
    page = desk.post(
        address, {"token": "t", "kind": "relabel", "reason": "Old labels."}, follow=True
    )
    sticker = bench.post(
        reverse("labels:sticker", args=[lot.code]),
        {"token": "s", "layout": "70x37", "count": "10"},
        follow=True,
    )
    printed = bench.get(reverse("labels:printed", args=[Print.objects.get().pk]))

    assert asked.context["form"].errors == {"reason": ["This field is required."]}
    assert "Old labels." in text(page)
    assert "10 stickers of lot" in text(sticker)
    assert paper.text(printed.content).startswith("New ingredient list Ingredients: Olea Oil*")
    assert Decision.objects.get().kind == "relabel"


def test_packer_may_not_open_the_decision(bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)

    assert bench.get(reverse("labels:decide", args=[lot.code])).status_code == 403


def test_count_page_shows_the_balance_and_refuses_too_many(desk: Client, owner: User) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    services.log_print(lot, 12, by=owner, at=make.NOON)
    address = reverse("labels:count", args=[lot.code])

    page = desk.get(address)
    many = desk.post(address, {"token": "a", "used": "13", "spoiled": "0", "returned": "0"})
    done = desk.post(
        address, {"token": "b", "used": "10", "spoiled": "2", "returned": "0"}, follow=True
    )

    assert page.context["form"]["used"].value() == 10
    assert "these figures account for 13. Count again." in text(many)
    assert "All 12 labels are accounted for." in text(done)


def test_run_page_part_tells_truth_and_balance(bench: Client, owner: User) -> None:
    lot = extra(Bench(), owner)

    part = text(bench.get(reverse("labels:standing", args=[lot.code])))

    assert "holds Rosmarinus Extract (0.5 %)" in part
    assert "No label was issued yet." in part
    assert "<html" not in part


def test_lot_that_left_without_a_label_of_the_book_alarms_nobody(
    bench: Client, owner: User
) -> None:
    lot = extra(Bench(), owner)
    discard(lot, on_hand(lot), by=owner, at=make.NOON, reason="As if sent out.", token="all")

    part = text(bench.get(reverse("labels:standing", args=[lot.code])))

    assert "No label of this lot was printed from the book, and none of the lot is here" in part
    assert "untrue" not in part


SIZE = {
    "name": "Our roll", "shape": "rectangle", "carries": "all", "width_mm": "90",
    "height_mm": "60", "margin_mm": "2", "dpi": "203", "gap_right_mm": "0", "gap_down_mm": "0",
    "is_active": "on",
}  # fmt: skip
SHEET = SIZE | {
    "columns": "2", "rows": "4", "page_width_mm": "210", "page_height_mm": "297", "left_mm": "10",
    "top_mm": "10", "gap_right_mm": "5",
}  # fmt: skip


def test_own_size_is_offered_for_printing(desk: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    desk.post(reverse("labels:new-size"), SIZE)
    key = OwnSize.objects.get().key

    desk.post(reverse("labels:print", args=[lot.code]), {"token": "t", "layout": key, "count": "3"})

    answer = desk.get(reverse("labels:printed", args=[Print.objects.get().pk]))
    assert paper.page_sizes_mm(answer.content) == [(90.0, 60.0)] * 3


@pytest.mark.parametrize(
    ("values", "field", "sentence"),
    [
        ({"columns": "3"}, "columns", "The columns end at 290.00 mm and the page at 210.00 mm."),
        ({"rows": "5"}, "rows", "The rows end at 310.00 mm and the page at 297.00 mm."),
        ({"rows": ""}, "rows", "A sheet has columns and rows; a roll has neither."),
        ({"left_mm": ""}, "left_mm", "A sheet needs this measure."),
    ],
)
def test_sheet_that_cannot_be_is_refused(
    desk: Client, values: dict[str, str], field: str, sentence: str
) -> None:
    page = desk.post(reverse("labels:new-size"), SHEET | values)

    shown = {
        key: [str(e).replace(".00", "") for e in v]
        for key, v in page.context["form"].errors.items()
    }
    assert shown == {field: [sentence.replace(".00", "")]}
    assert not OwnSize.objects.exists()


def test_carton_labels_are_printed_and_logged(bench: Client) -> None:
    build.workshop()
    lot = build.balm(is_small_package=True)
    address = reverse("labels:carton", args=[lot.code])

    answer = bench.post(address, {"token": "t", "per_carton": "5", "cartons": "2"})
    again = bench.post(address, {"token": "u", "per_carton": "5", "cartons": "1"})

    assert len(paper.page_sizes_mm(answer.content)) == 2
    assert [(row.kind, row.count) for row in Print.objects.all()] == [("carton", 2)]
    assert "were printed before. Say why more are needed." in text(again)


def test_kettle_tag_says_batch_and_kettle(bench: Client) -> None:
    batch = kettle.batch()

    tag = bench.get(reverse("labels:kettle-tag", args=[batch.operation.reference]))

    assert batch.operation.reference in paper.text(tag.content)
    assert str(batch.kettle) in paper.text(tag.content)


def test_tag_of_organic_bulk_says_so_with_its_lot(bench: Client) -> None:
    # 7 CFR 205.307: a container that is not for retail names its contents as organic, and its lot.
    oil = build.oil("Olea Europaea Fruit Oil", organic_until=make.day(365))
    wax = build.oil("Cera Alba")
    shares = [(oil.item, "96"), (wax.item, "4")]

    for claims, word in ((True, True), (False, False)):
        batch = kettle.batch(kettle.version(shares, claims_organic=claims))
        for line, lot in zip(batch.lines.all(), (oil, wax), strict=True):
            kettle.weigh(line, lot=lot)
        (made,) = kettle.pour(batch)
        tag = bench.get(reverse("labels:kettle-tag", args=[batch.operation.reference]))
        words = paper.text(tag.content)

        assert made.shown_code in words
        assert ("organic" in words.lower()) is word
        # No letter stands on another.
        boxes = [box for _, box in paper.words_mm(tag.content)]
        for one, other in combinations(boxes, 2):
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            assert min(across, down) < 0.2


def test_each_lot_of_a_pour_has_a_tag_of_its_own(bench: Client) -> None:
    batch, scented = kettle.filled(), make.item(ItemKind.BULK, name="Scented balm, bulk")
    lots = kettle_services.pour(
        batch,
        [(None, Decimal(600)), (scented, Decimal(380))],
        by=kettle.owner(),
        at=make.NOON,
        token=new_token(),
    )

    tag = bench.get(reverse("labels:kettle-tag", args=[batch.operation.reference]))
    pages = [page.extract_text() for page in PdfReader(BytesIO(tag.content)).pages]

    assert len(pages) == 2
    for lot, words in zip(lots, pages, strict=True):
        assert lot.shown_code in words
        assert str(lot.item) in " ".join(words.split())


def test_labels_already_printed_with_a_later_date_are_told_on_the_page(
    bench: Client, owner: User
) -> None:
    world = Bench()
    lot = world.usual()
    world.approve(lot, owner)
    services.log_print(lot, 10, by=owner, at=make.NOON)
    make.dated(lot, make.day(110))

    page = text(bench.get(reverse("labels:label", args=[lot.code])))

    assert f"Labels already printed for it say {make.shown(months=12)}" in page


@pytest.mark.parametrize(
    "values",
    [
        {"width_mm": Decimal(4), "margin_mm": Decimal(2)},
        {"columns": 2, "rows": None},
        {"columns": 2, "rows": 2, "page_width_mm": None},
        {"columns": 31, "rows": 2},
    ],
)
def test_database_refuses_a_size_that_cannot_be(values: dict[str, Any]) -> None:
    whole: dict[str, Any] = {
        "name": "S",
        "width_mm": Decimal(50),
        "height_mm": Decimal(50),
        "page_width_mm": Decimal(210),
        "page_height_mm": Decimal(297),
        "left_mm": Decimal(0),
        "top_mm": Decimal(0),
    }
    with pytest.raises(IntegrityError, match="own_size"):
        OwnSize.objects.create(**whole | values)
