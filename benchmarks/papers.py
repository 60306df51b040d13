"""How long papers take: letters for many beside one, records and reports beside a bare document."""

import io
import statistics
import time
from collections.abc import Callable, Iterator
from dataclasses import replace

import pypdfium2
from django.db import transaction
from django.test import Client
from django.urls import reverse
from django.utils.html import escape
from weasyprint import HTML

from tests import make
from tests.kettle import build as kettle
from tests.trace import rooms
from workshop.aftersales.recalls.consignees import Consignee
from workshop.aftersales.recalls.letters import letters
from workshop.aftersales.recalls.scope import scope_of
from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.dispatch.models import Customer

MANY = 200
TURNS = 3


def measure() -> Iterator[str]:
    """The lines of the report."""
    with transaction.atomic():
        house = rooms.House()
        recall = rooms.recall(house.wax)
        buyers = scope_of(recall).buyers
        one, many = [_copies(buyers, count) for count in (1, MANY)]
        times = _medians(lambda: letters(recall, one), lambda: letters(recall, many))
        yield f"a recall letter {times[0]:,.0f} ms, {MANY} letters {times[1]:,.0f} ms:"
        yield f"  {times[1] / times[0]:.2f} times one (at most 10)"
        poured = kettle.poured()
        client = Client(SERVER_NAME="localhost")
        client.force_login(make.user())
        for words, address in (
            ("a trace report", reverse("trace:report", args=[house.wax.code])),
            ("a report of a recall", reverse("aftersales:recall-report", args=[recall.reference])),
            ("a batch record", reverse("kettle:paper", args=[poured.operation.reference])),
        ):
            yield from _beside_bare(words, client, address)
        transaction.set_rollback(True)


def _copies(buyers: list[Consignee], count: int) -> list[Consignee]:
    """So many customers, each with a name and an address of their own."""
    return [
        replace(
            buyers[number % len(buyers)],
            customer=Customer(pk=number, name=f"Shop {number}", address=f"{number} Quay\nOstrell"),
        )
        for number in range(count)
    ]


def _beside_bare(words: str, client: Client, address: str) -> Iterator[str]:
    lines = _lines(client.get(address).content)
    ours, bare = _medians(lambda: client.get(address), lambda: _bare(lines))
    yield f"{words} {ours:,.0f} ms, a bare document of its lines {bare:,.0f} ms:"
    yield f"  {ours / bare:.2f} times (aim: at most 2), with what it asks the book"


def _lines(pdf: bytes) -> list[list[str]]:
    """The lines of each page."""
    pages = pypdfium2.PdfDocument(io.BytesIO(pdf))
    return [page.get_textpage().get_text_range().splitlines() for page in pages]


def _bare(pages: list[list[str]]) -> bytes:
    """What anybody would write: the same lines on as many pages, without tables or a style."""
    body = "".join(
        "<section>" + "".join(f"<p>{escape(line)}</p>" for line in lines) + "</section>"
        for lines in pages
    )
    style = (
        "@page { size: A4; margin: 15mm } body { font: 9.5pt 'DejaVu Sans' } p { margin: 0 }"
        "section { break-after: page }"
    )
    html = f"<html><head><style>{style}</style></head><body>{body}</body></html>"
    page = HTML(string=html, url_fetcher=NOTHING_OUTSIDE)
    written: bytes = page.write_pdf(font_config=fonts())
    return written


def _medians(*ways: Callable[[], object]) -> list[float]:
    """Milliseconds, turn by turn, so that a busy moment falls on all alike."""
    taken: list[list[float]] = [[] for _ in ways]
    for turn in range(TURNS + 1):
        for work, kept in zip(ways, taken, strict=True):
            began = time.perf_counter()
            work()
            if turn:  # the first one warms up
                kept.append((time.perf_counter() - began) * 1000)
    return [statistics.median(one) for one in taken]
