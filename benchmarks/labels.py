"""How long sheets of labels take: identical ones, numbered ones, and a plain document of them."""

import pickle
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path

from django.db import transaction
from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from tests.labels import build
from workshop.core import barcodes
from workshop.core.paper import NOTHING_OUTSIDE
from workshop.labels.codes import numbered_elements
from workshop.labels.content import Label, label_for
from workshop.labels.drawing import draw
from workshop.labels.layouts import BY_KEY, Layout
from workshop.labels.numbered import numbered_pdf
from workshop.labels.sheets import put_on_paper

MANY = 2_400
# The plain document takes minutes for 2 400 labels; its time grows in line with their number.
PLAIN = 48
GTIN = "9521234543213"  # GS1's demonstration prefix 952


def measure() -> Iterator[str]:
    """The lines of the report."""
    with transaction.atomic():
        label, layout = _label(), BY_KEY["a4-8"]
        transaction.set_rollback(True)
    one = _median(lambda: put_on_paper(draw(label, layout).pdf, layout, 1))
    many = _median(lambda: put_on_paper(draw(label, layout).pdf, layout, MANY))
    yield f"one label {one * 1000:,.0f} ms, {MANY:,} identical {many * 1000:,.0f} ms: "
    yield f"  {many / one:.2f} times one (at most 2)"
    half = _seconds(lambda: numbered_pdf(label, layout, range(1, MANY // 2 + 1)))
    numbered = _seconds(lambda: numbered_pdf(label, layout, range(1, MANY + 1)))
    plain = _seconds(lambda: _plain(label, layout, PLAIN))
    rate, plain_rate = MANY / numbered, PLAIN / plain
    yield f"{MANY:,} numbered, each with its own code: {rate:,.0f} labels a second"
    yield f"  {rate / plain_rate:.1f} times a plain document ({plain_rate:,.0f} a second, measured"
    yield f"  on {PLAIN} labels) (at least 10)"
    yield f"  twice as many take {numbered / half:.2f} times as long"
    yield f"memory of a process that prints them: {_memory_mb(label):,.0f} MB (at most 150)"
    first = _median(lambda: draw(label, layout, preview=True).pdf)
    bare = _median(lambda: _plain(label, layout, 1))
    yield f"preview seen before {first * 1000:,.0f} ms, a bare page {bare * 1000:,.0f} ms:"
    yield f"  {first / bare:.2f} times (at most 1.5)"


def _label() -> Label:
    build.workshop()
    parts: list[build.Part] = [
        (build.oil(f"Long Botanical Name Seed Oil {number}"), 100 - number) for number in range(7)
    ]
    lot = build.finished(parts, gtin=GTIN, is_small_package=True, identity="salve")
    return label_for(lot)


def _seconds(work: Callable[[], object]) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began


def _memory_mb(label: Label) -> float:
    """The highest memory of a process of its own that does nothing but print the numbered ones."""
    with tempfile.NamedTemporaryFile(suffix=".label") as file:
        Path(file.name).write_bytes(pickle.dumps(label))
        told = subprocess.run(  # noqa: S603  ourselves
            [sys.executable, "-m", "benchmarks.label_memory", file.name],
            check=True,
            capture_output=True,
            text=True,
        )
    return int(told.stdout) / 1024


def print_and_tell_memory(path: str) -> None:
    label: Label = pickle.loads(Path(path).read_bytes())  # noqa: S301  written by ourselves
    numbered_pdf(label, BY_KEY["a4-8"], range(1, MANY + 1))
    # Not getrusage: what it tells outlives the start of the program, and is the parent's.
    status = Path("/proc/self/status").read_text(encoding="ascii").split()
    print(status[status.index("VmHWM:") + 1])


def _median(work: Callable[[], object], times: int = 5) -> float:
    return statistics.median(_seconds(work) for _ in range(times))


def _plain(label: Label, layout: Layout, count: int) -> bytes:
    """The same labels as one document, each laid out anew with its own code."""
    page = render_to_string("labels/paper.html", {"label": label, "layout": layout, **_parts()})
    body = page[page.index("<body") : page.index("</body>")].partition(">")[2]
    body = body.replace(' id="', ' class="')
    labels = []
    for number in range(1, count + 1):
        code = barcodes.gs1_datamatrix(numbered_elements(label, number))
        labels.append(body.replace("CODE", barcodes.as_source(code)))
    style = (
        f"@page {{ size: A4; margin: 0 }} body {{ margin: 0; font: 2.4mm 'DejaVu Sans' }}"
        f"section {{ float: left; box-sizing: border-box; padding: 4mm; overflow: hidden;"
        f" width: {layout.width_mm - Decimal('0.01')}mm; height: {layout.height_mm}mm }}"
    )
    html = "".join(f"<section>{one}</section>" for one in labels)
    document = HTML(string=html, url_fetcher=NOTHING_OUTSIDE)
    written: bytes = document.write_pdf(
        stylesheets=[CSS(string=style, url_fetcher=NOTHING_OUTSIDE)]
    )
    return written


def _parts() -> dict[str, object]:
    till = barcodes.as_source(barcodes.ean(GTIN))
    return {"code": "CODE", "gtin": till, "has_front": True, "has_information": True, "wide": True}
