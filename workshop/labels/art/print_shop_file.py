"""A label for a print shop: trim, bleed and marks, black words, colours as the four inks."""

import io
from decimal import Decimal

import pikepdf

from workshop.labels.art.drawing import BLEED_MM, Dress, art_layer, ground_layer
from workshop.labels.art.frame import Frame
from workshop.labels.art.press_inks import in_inks
from workshop.labels.layout.label_stock import Layout

PT_PER_MM = Decimal(72) / Decimal("25.4")
# Around the trim: room for the marks.
SLUG_MM = Decimal(8)
MARK_MM, MARK_OFF_MM = 4.0, 2.5
# How far the handles of a quarter of a circle reach, in parts of its radius.
BEND = 0.5523


def press_pdf(words: bytes, frame: Frame, dress: Dress) -> bytes:
    """The label on its own page with trim box, bleed box and marks; the cut of a round one follows.

    Every colour, of pictures too, is told as cyan, magenta, yellow and black, words in black alone.
    The print shop proofs them.
    """
    outer = frame.outer
    slug, bleed = _pt(SLUG_MM), _pt(BLEED_MM)
    wide, high = _pt(outer.width_mm), _pt(outer.height_mm)
    with pikepdf.new() as pdf:
        forms, drawn = {}, []
        layers = [art_layer(frame, dress), ground_layer(frame, dress)]
        for number, layer in enumerate(layers):
            forms[f"/Art{number}"] = _form(pdf, layer)
            drawn.append(f"q 1 0 0 1 {slug - bleed:.4f} {slug - bleed:.4f} cm /Art{number} Do Q")
        forms["/Words"] = _form(pdf, words)
        x, y = slug + _pt(frame.left_mm), slug + _pt(frame.below_mm)
        drawn.append(f"q 1 0 0 1 {x:.4f} {y:.4f} cm /Words Do Q")
        drawn.append(_marks(outer))
        page = pdf.add_blank_page(page_size=(wide + 2 * slug, high + 2 * slug))
        page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(forms))
        page.obj.Contents = pdf.make_stream("\n".join(drawn).encode())
        _boxes(page, outer)
        if outer.is_round:
            _cut_page(pdf, outer)
        written = io.BytesIO()
        pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return written.getvalue()


def _boxes(page: pikepdf.Page, outer: Layout) -> None:
    """Where the label ends, and how far its colour goes on."""
    slug, off = _pt(SLUG_MM), _pt(SLUG_MM - BLEED_MM)
    wide, high, more = _pt(outer.width_mm), _pt(outer.height_mm), _pt(BLEED_MM)
    page.obj.TrimBox = pikepdf.Array([slug, slug, slug + wide, slug + high])
    page.obj.BleedBox = pikepdf.Array([off, off, slug + wide + more, slug + high + more])


def _pt(mm: Decimal) -> float:
    return float(mm * PT_PER_MM)


def _form(pdf: pikepdf.Pdf, layer: bytes) -> pikepdf.Object:
    """A layer as a form, its colours told as inks."""
    with pikepdf.open(io.BytesIO(layer)) as one:
        in_inks(one)
        return pdf.copy_foreign(one.pages[0].as_form_xobject())


def _marks(outer: Layout) -> str:
    """Four corner marks outside the bleed, in black ink."""
    slug, wide, high = _pt(SLUG_MM), _pt(outer.width_mm), _pt(outer.height_mm)
    long, off = MARK_MM * 72 / 25.4, MARK_OFF_MM * 72 / 25.4
    across = [
        f"{x + way * off:.3f} {y:.3f} m {x + way * (off + long):.3f} {y:.3f} l"
        for x, way in ((slug, -1), (slug + wide, 1))
        for y in (slug, slug + high)
    ]
    down = [
        f"{x:.3f} {y + way * off:.3f} m {x:.3f} {y + way * (off + long):.3f} l"
        for y, way in ((slug, -1), (slug + high, 1))
        for x in (slug, slug + wide)
    ]
    lines = [*across, *down]
    return f"q 0 0 0 1 K 0.25 w\n{' '.join(lines)} S Q"


def _cut_page(pdf: pikepdf.Pdf, outer: Layout) -> None:
    """The cut of a round label, alone on the second page."""
    slug, r = _pt(SLUG_MM), _pt(outer.width_mm) / 2
    side, bend = 2 * (slug + r), BEND * r
    # A circle of four curves about its middle, from the right and against the clock.
    curves = (
        (r, bend, bend, r, 0.0, r),
        (-bend, r, -r, bend, -r, 0.0),
        (-r, -bend, -bend, -r, 0.0, -r),
        (bend, -r, r, -bend, r, 0.0),
    )
    drawn = " ".join(f"{' '.join(f'{one:.3f}' for one in curve)} c" for curve in curves)
    page = pdf.add_blank_page(page_size=(side, side))
    _boxes(page, outer)
    middle = f"1 0 0 1 {slug + r:.3f} {slug + r:.3f} cm"
    page.obj.Contents = pdf.make_stream(
        f"q {middle} 0 0 0 1 K 0.25 w {r:.3f} 0 m {drawn} s Q".encode()
    )
