"""How long sheets of labels take: identical ones, numbered ones, and a plain document of them."""

import io
import pickle
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from decimal import Decimal
from functools import partial
from itertools import count, pairwise
from pathlib import Path

from django.db import transaction
from django.template.loader import render_to_string
from django.test import override_settings
from django.utils.html import escape
from PIL import Image
from weasyprint import CSS, HTML

from benchmarks.by_hand import by_hand, fixed_part
from tests import make
from tests.labels import build
from workshop.core.paper import barcodes
from workshop.core.paper.css_layout import NOTHING_OUTSIDE
from workshop.labels.approval.print_status import label_status
from workshop.labels.art.artwork import checked_artwork
from workshop.labels.content.label import Label, label_for
from workshop.labels.layout.barcode_data import codes_of, numbered_elements
from workshop.labels.layout.fit_to_label import draw
from workshop.labels.layout.label_stock import BY_KEY, Layout
from workshop.labels.models import Placement
from workshop.labels.printing.serial_numbers import numbered_pdf
from workshop.labels.printing.sheet_imposition import put_on_paper
from workshop.labels.services.art import save_art

MANY = 2_400
# The plain document takes minutes for 2 400 labels; its time grows in line with their number.
PLAIN = 48
# The library's time grows in line too.
BY_HAND = 480
TURNS = 9
GTIN = "9521234543213"  # GS1's demonstration prefix 952


def measure() -> Iterator[str]:
    """The lines of the report."""
    with transaction.atomic():
        label = _label()
        yield from _sheets(label, BY_KEY["a4-8"])
        yield f"memory of a process that prints them: {_memory_mb(label):,.0f} MB (at most 150)"
        yield from _preview(label, BY_KEY["100x70"])
        yield ""
        yield "the same with artwork behind the whole label, and a logo"
        yield "(the plain document and the library draw neither)"
        with tempfile.TemporaryDirectory() as folder, override_settings(MEDIA_ROOT=folder):
            _dress(label)
            yield from _sheets(label, BY_KEY["a4-8"])
        transaction.set_rollback(True)


def _sheets(label: Label, layout: Layout) -> Iterator[str]:
    draw(label, layout)
    one = _median(lambda: put_on_paper(draw(label, layout).pdf, layout, 1))
    alike = _median(lambda: put_on_paper(draw(label, layout).pdf, layout, MANY))
    yield f"one label {one * 1000:,.0f} ms, {MANY:,} identical {alike * 1000:,.0f} ms: "
    yield f"  {alike / one:.2f} times one (at most 2)"
    taken = {
        many: _median(partial(numbered_pdf, label, layout, range(1, many + 1)), 3)
        for many in (MANY // 2, MANY, 2 * MANY)
    }
    rate = MANY / taken[MANY]
    yield f"{MANY:,} numbered, each with its own code: {rate:,.0f} labels a second"
    plain = PLAIN / _median(lambda: _plain(label, layout, PLAIN), 3)
    yield f"  {rate / plain:.1f} times a plain document ({plain:,.0f} a second, measured"
    yield f"  on {PLAIN} labels) (at least 10)"
    fixed = fixed_part(label, layout)
    for keeps, words in ((False, "piece by piece"), (True, "with the fixed part kept once")):
        numbers = range(1, BY_HAND + 1)
        drawing = partial(by_hand, label, layout, fixed, numbers, keeps_fixed=keeps)
        by_hand_rate = BY_HAND / _median(drawing, 3)
        yield f"  {rate / by_hand_rate:.1f} times a low-level library that draws them {words}"
        yield f"  ({by_hand_rate:,.0f} a second, measured on {BY_HAND} labels) (at least 3)"
    times = [f"{many:,} in {seconds * 1000:,.0f} ms" for many, seconds in taken.items()]
    yield f"  growth: {', '.join(times)}: twice as many take {_growth(taken)} times as long"


def _growth(taken: dict[int, float]) -> str:
    steps = (later / earlier for earlier, later in pairwise(taken.values()))
    return " and ".join(f"{step:.2f}" for step in steps)


def _preview(label: Label, layout: Layout) -> Iterator[str]:
    """A preview seen for the first time, again, and with all that the page asks the book first.

    The bare page has the same words in the same font, and the same codes, at one size.
    """
    turns = count()
    ways: dict[str, Callable[[], object]] = {
        "bare": lambda: _bare(label, layout),
        "first": lambda: draw(_unseen(label, next(turns)), layout, preview=True).pdf,
        "again": lambda: draw(label, layout, preview=True).pdf,
        "whole": lambda: draw(label_status(label.lot).label, layout, preview=True).pdf,
    }
    taken: dict[str, list[float]] = {name: [] for name in ways}
    for _ in range(TURNS):
        for name, work in ways.items():
            taken[name].append(_seconds(work))
    bare = statistics.median(taken["bare"])
    yield f"a bare page with the same words and codes {bare * 1000:,.0f} ms; a preview takes"
    for name, words in (
        ("first", "never seen before (at most 1.5 times)"),
        ("again", "seen before (at most 1.5 times)"),
        ("whole", "with what the check of its truth asks the book, which the bare page does not"),
    ):
        seconds = statistics.median(taken[name])
        yield f"  {seconds * 1000:,.0f} ms, {seconds / bare:.2f} times: {words}"


def _unseen(label: Label, turn: int) -> Label:
    return replace(label, directions=f"Warm a little in the hand, number {turn}.")


def _bare(label: Label, layout: Layout) -> bytes:
    """What anybody would write to have the label as a PDF: no fit, no check, one size of type."""
    codes = codes_of(label, layout)
    words = "".join(f"<p>{escape(line)}</p>" for line in label.lines)
    pictures = "".join(f"<img src='{code.source}'>" for code in codes.values())
    style = (
        f"@page {{ size: {layout.width_mm}mm {layout.height_mm}mm; margin: 2mm }}"
        "body { margin: 0; font: 2mm 'DejaVu Sans' } p { margin: 0 0 .25em }"
        "p:first-child { font-weight: bold; font-size: 1.45em }"
    )
    html = f"<html><head><style>{style}</style></head><body>{words}{pictures}</body></html>"
    written: bytes = HTML(string=html, url_fetcher=NOTHING_OUTSIDE).write_pdf()
    return written


def _label() -> Label:
    build.workshop()
    parts: list[build.Part] = [
        (build.oil(f"Long Botanical Name Seed Oil {number}"), 100 - number) for number in range(7)
    ]
    lot = build.finished(parts, gtin=GTIN, is_small_package=True, identity="salve")
    return label_for(lot)


def _dress(label: Label) -> None:
    """Artwork as a photograph and a logo in paths, as an owner hands them in."""
    photograph = io.BytesIO()
    Image.effect_mandelbrot((1200, 900), (-2, -1.5, 1, 1.5), 100).convert("RGB").save(
        photograph, format="PNG"
    )
    logo = (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 40">'
        '<path d="M5 35V15q0-10 10-10h30q10 0 10 10v20z" fill="#2f5130"/></svg>'
    )
    files = {
        "artwork": checked_artwork("art.png", io.BytesIO(photograph.getvalue())),
        "logo": checked_artwork("logo.svg", io.BytesIO(logo.encode())),
    }
    wears = {"placement": Placement.GROUND}
    save_art(label.product, wears, files=files, by=make.user(), at=make.NOON)
    label.product.refresh_from_db()


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
    page = render_to_string(
        "labels/paper.html", {"label": label, "layout": layout, **_parts(label)}
    )
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


def _parts(label: Label) -> dict[str, object]:
    till = barcodes.as_source(barcodes.ean(GTIN))
    return {
        "code": "CODE",
        "gtin": till,
        "has_front": True,
        "has_information": True,
        "wide": True,
        "net_text": label.net_contents,
        "name": label.name,
        "date_line": label.date_line,
    }
