"""The family tree as a picture: every lot a box that leads on, every band as wide as its grams."""

from collections import defaultdict
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from tests.trace.test_pages import Job, chain, job  # noqa: F401 -- a fixture
from workshop.dispatch.models import Customer, Dispatch
from workshop.ledger.models import Item, ItemKind, Lot, Operation, OperationKind, Unit
from workshop.ledger.stock_queries import balance_of
from workshop.trace.diagram.drawing import MOST_KEPT, picture_of
from workshop.trace.diagram.positions import ASKED, DENSE, FINISHED, Diagram, Node, laid_out
from workshop.trace.lot.query import trace
from workshop.trace.lot.result import Descendant, Sending, Trace, Who
from workshop.trace.lot.share_flow import Flow

pytestmark = pytest.mark.django_db
SVG = "{http://www.w3.org/2000/svg}"


def drawn(lot: Lot) -> Diagram:
    return picture_of(trace(lot))


def boxes(picture: Diagram) -> dict[str, str]:
    return {node.lines[0]: node.address for node in picture.nodes}


def x_of(picture: Diagram) -> dict[str, int]:
    return {node.lines[0]: node.x for node in picture.nodes}


def test_every_box_leads_to_what_it_shows(job: Job) -> None:  # noqa: F811
    found = boxes(drawn(job.salve))

    lots = (job.oil, job.herb, job.wax, job.infusion, job.jars)
    assert found == {
        **{str(lot): reverse("trace:lot", args=[lot.code]) for lot in lots},
        str(job.salve): reverse("ledger:lot", args=[job.salve.code]),
        **{shop.name: reverse("dispatch:customer", args=[shop.pk]) for shop in job.shops},
    }


def test_columns_stand_in_the_order_a_gram_travels(job: Job) -> None:  # noqa: F811
    x = x_of(drawn(job.salve))

    order = [job.oil, job.infusion, job.salve, job.jars]
    places = [x[str(lot)] for lot in order] + [x["Ostrell Larder"]]
    assert places == sorted(set(places))
    assert x[str(job.wax)] == x[str(job.oil)]


def test_bought_lot_stands_beside_its_supplier(job: Job) -> None:  # noqa: F811
    picture = drawn(job.wax)

    supplier = picture.nodes[0]
    assert supplier.lines == ["Marl Ridge Apiary", "their lot MR-0117"]
    assert supplier.address.endswith(f"?q={job.wax.origin.reference}")


def test_bands_are_as_wide_as_their_grams(db: None) -> None:
    oil, wax = make.lot(), make.lot()
    salve = build.batch((oil, 300), (wax, 100), grams=390)

    widths = sorted(edge.width for edge in drawn(salve).edges)

    assert widths == [Decimal("10.5"), Decimal("31.5")]


def orchard(nodes: int) -> Lot:
    """A lot whose tree has so many boxes: batches of it, each packed and sent to a shop of its own.

    What cannot be shared out by three are bought lots behind it.
    """
    batches = (nodes - 1) // 3
    made = [make.lot(on_hand=9000) for _ in range(nodes - 1 - 3 * batches)]
    lot = build.batch(*[(one, 100) for one in made], grams=9000) if made else make.lot(on_hand=9000)
    for number in range(batches):
        jars = build.packed((build.batch((lot, 10 + number), grams=9), 9), units=3)
        dispatch.sent((jars, 2), to=dispatch.customer(f"Shop {number} of Upper Welling"))
    return lot


def clashes(picture: Diagram) -> list[tuple[str, str]]:
    """Boxes that lie upon each other or stick out."""
    wide, high = picture.size.width, picture.size.height
    found = [
        (node.key, "sticks out")
        for node in picture.nodes
        if not (0 <= node.x <= picture.width - wide and 0 <= node.y <= picture.height - high)
    ]
    placed = sorted(picture.nodes, key=lambda node: (node.x, node.y))
    found += [
        (one.key, other.key)
        for one, other in pairwise(placed)
        if one.x == other.x and other.y - one.y < high
    ]
    lefts = sorted({node.x for node in picture.nodes})
    return found + [("columns", "overlap") for a, b in pairwise(lefts) if b - a < wide]


def points_on_paper(picture: Diagram) -> Fraction:
    """How large the small letters print on A4 across: 267 mm wide and 140 mm high at most."""
    mm_a_pixel = min(Fraction(267, picture.width), Fraction(140, picture.height))
    return 13 * mm_a_pixel * 72 / Fraction("25.4")


@pytest.mark.parametrize("nodes", [7, 40, 41, 64, 199, 200])
def test_boxes_never_overlap_and_none_is_folded_up_to_two_hundred(db: None, nodes: int) -> None:
    picture = drawn(orchard(nodes))

    assert len(picture.nodes) == nodes
    assert clashes(picture) == []
    assert picture.is_dense == (nodes >= 40)
    assert [node.manner for node in picture.nodes].count("asked") == 1
    assert all(node.address.startswith("/") for node in picture.nodes)


def test_two_hundred_boxes_print_in_letters_that_can_be_read(db: None) -> None:
    picture = drawn(orchard(200))

    assert points_on_paper(picture) > Fraction("5.5")
    text = render_to_string("trace/_picture.html", {"picture": picture, "lot": make.lot()})
    root = ElementTree.fromstring(text.strip())  # noqa: S314 -- our own template
    links = list(root.iter("a"))
    assert len(links) == 200
    assert len({link.findtext("title") for link in links}) == 200
    assert all(link.get("href") for link in links)


@pytest.mark.parametrize("columns", [1, 2, 3, 5])
def test_columns_of_any_shape_find_their_place(columns: int) -> None:
    """Two hundred boxes in few columns: each is set in as many parts as it needs."""
    keys = [f"{number}" for number in range(200)]
    nodes = [
        Node(key, ASKED - columns // 2 + place % columns, [key, "lot"], "/", Fraction(1))
        for place, key in enumerate(keys)
    ]

    picture = laid_out(nodes, [], DENSE)

    assert (len(picture.nodes), clashes(picture)) == (200, [])
    assert picture.height < 41 * (DENSE.height + DENSE.row_gap) + 40


def woods(lots: int) -> Trace:
    """The trace of a lot that went into so many others, each sent to one of a hundred shops."""
    oil = Item(pk=1, code="OIL", name="Sunflower oil", unit=Unit.GRAM, kind=ItemKind.MATERIAL)
    salve = Item(pk=2, code="SAL", name="Hand salve", unit=Unit.EACH, kind=ItemKind.PRODUCT)
    origin = Operation(pk=1, kind=OperationKind.PACKING, reference=f"P-{make.MONTH}-01")
    asked = Lot(pk=1, code="AAAA001", item=oil, origin=Operation(pk=2, kind=OperationKind.COUNT))
    held = balance_of(defaultdict(Decimal))
    made = [
        Descendant(Lot(pk=pk, code=f"{pk:07}", item=salve, origin=origin), Decimal(pk), held, 1)
        for pk in range(2, lots + 2)
    ]
    shops = [Customer(pk=pk, name=f"Shop {pk}") for pk in range(100)]
    sent = [
        Dispatch(pk=one.lot.pk, customer=shops[one.lot.pk % 100], operation=origin) for one in made
    ]
    forward = Flow(
        of={one.lot.pk: Fraction(one.lot.pk) for one in made},
        along={(1, one.lot.pk): Fraction(one.lot.pk) for one in made},
    )
    return Trace(
        lot=asked,
        balance=held,
        bought=[],
        made_here=[],
        products=made,
        sendings=[
            Sending(to, one.lot, Decimal(2), Decimal(0), Decimal(1))
            for to, one in zip(sent, made, strict=True)
        ],
        back=Flow(),
        forward=forward,
        who=Who(),
        on_its_way=Decimal(0),
        retained=Decimal(0),
    )


def test_two_thousand_boxes_are_folded_and_each_fold_says_how_many() -> None:
    picture = picture_of(woods(1899))

    found = boxes(picture)
    assert len(picture.nodes) <= MOST_KEPT
    assert clashes(picture) == []
    folds = [node.text[0][2] for node in picture.nodes if node.manner == "fold"]
    assert folds == ["1887 more lots", "88 more customers"]
    assert found["1887 more lots"] == reverse("trace:rows", args=["AAAA001", "went-into"])
    kept = [node for node in picture.nodes if node.column == FINISHED and node.manner != "fold"]
    assert {int(node.key) for node in kept} == set(range(1889, 1901))  # the heaviest
    assert sum(node.manner == "asked" for node in picture.nodes) == 1


def test_deep_tree_folds_what_lies_further_back(db: None) -> None:
    picture = drawn(chain(9))

    found = boxes(picture)
    assert "5 more lots" in found
    assert len({node.x for node in picture.nodes}) == 6


def test_picture_is_well_formed_and_shows_names_as_text(db: None) -> None:
    lot = dispatch.finished_lot(name="<b>Salve</b> & “balm” 60 g")
    dispatch.sent((lot, 1), to=dispatch.customer("<script>alert(1)</script>"))

    text = render_to_string("trace/_picture.html", {"picture": drawn(lot), "lot": lot})
    root = ElementTree.fromstring(text.strip())  # noqa: S314 -- our own template

    texts = [node.text for node in root.iter("text")]
    assert "<script>alert(1)<…" in texts
    assert len(list(root.iter("a"))) == 2
    assert len(list(root.iter("path"))) == 1
    assert "style" not in text.replace("stylesheet", "")
