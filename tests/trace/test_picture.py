"""The family tree as a picture: every lot a box that leads on, every band as wide as its grams."""

from decimal import Decimal
from xml.etree import ElementTree

import pytest
from django.template.loader import render_to_string
from django.urls import reverse

from tests import make
from tests.dispatch import build as dispatch
from tests.trace import build
from tests.trace.test_pages import Job, chain, fan, job  # noqa: F401 -- a fixture
from workshop.ledger.models import Lot
from workshop.trace.layout import NODE_HEIGHT, NODE_WIDTH, Picture
from workshop.trace.picture import MOST_NODES, TALLEST, picture_of
from workshop.trace.reads import trace

pytestmark = pytest.mark.django_db
SVG = "{http://www.w3.org/2000/svg}"


def drawn(lot: Lot) -> Picture:
    return picture_of(trace(lot))


def boxes(picture: Picture) -> dict[str, str]:
    return {node.lines[0]: node.address for node in picture.nodes}


def x_of(picture: Picture) -> dict[str, int]:
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


def test_boxes_never_overlap_and_stay_inside(db: None) -> None:
    for lot in (fan(14), chain(9)):
        picture = drawn(lot)
        for node in picture.nodes:
            assert 0 <= node.x <= picture.width - NODE_WIDTH
            assert 0 <= node.y <= picture.height - NODE_HEIGHT
        by_column: dict[int, list[int]] = {}
        for node in picture.nodes:
            by_column.setdefault(node.x, []).append(node.y)
        for ys in by_column.values():
            gaps = [low - high for high, low in zip(sorted(ys), sorted(ys)[1:], strict=False)]
            assert all(gap >= NODE_HEIGHT for gap in gaps)


def test_large_tree_is_folded_and_leads_to_the_list(db: None) -> None:
    lot = fan(20)

    picture = drawn(lot)

    assert len(picture.nodes) <= MOST_NODES
    assert boxes(picture)["and 11 more customers"] == reverse(
        "trace:rows", args=[lot.code, "customers"]
    )


def test_tall_column_of_a_small_tree_is_folded_too(db: None) -> None:
    lot = build.batch(*[(make.lot(), 10) for _ in range(TALLEST + 3)], grams=100)

    picture = drawn(lot)

    assert boxes(picture)["and 4 more lots"] == reverse("trace:rows", args=[lot.code, "bought"])
    assert len(picture.nodes) == TALLEST + 1


def test_deep_tree_folds_what_lies_further_back(db: None) -> None:
    picture = drawn(chain(9))

    found = boxes(picture)
    assert "and 5 more lots" in found
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
