"""A label put together of three layers: art, an opaque ground, and the words and codes on it.

The words are drawn last and on a ground of their own, so no art reaches them whatever it is.
"""

import io
from base64 import b64encode
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

import pikepdf
from weasyprint import HTML

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.labels.art.frame import Frame
from workshop.labels.art.gram_art import OPEN_HALF, Look, ring, row
from workshop.labels.layout.label_stock import Layout

PT_PER_MM = Decimal(72) / Decimal("25.4")
BLEED_MM = Decimal(2)
# Between art and words.
AIR_MM = 0.6
# What artwork behind the whole label shows of itself along the edges.
EDGE_MM = 1.2
MOST_KEPT = 256


@dataclass(frozen=True)
class Artwork:
    """A picture or drawing of the workshop's own; `is_ground` puts it behind the whole label."""

    content: bytes
    content_type: str
    is_ground: bool = False

    @property
    def source(self) -> str:
        return f"data:{self.content_type};base64,{b64encode(self.content).decode()}"


@dataclass(frozen=True)
class Dress:
    """All that a label looks like: what its grams are drawn as, and artwork."""

    look: Look
    grams: int
    artwork: Artwork | None = None

    @property
    def is_plain(self) -> bool:
        """Nothing but words on white."""
        is_bare = self.look.kind == "none" and self.artwork is None
        return is_bare and self.look.ground.casefold() == "#ffffff"


def composed(words: bytes, frame: Frame, dress: Dress) -> bytes:
    """The label: art below, then the ground, then the words, on a page of the label's size."""
    layers = [art_layer(frame, dress), ground_layer(frame, dress)]
    with pikepdf.new() as pdf, pikepdf.open(io.BytesIO(words)) as text:
        forms, drawn = {}, []
        bleed = float(BLEED_MM * PT_PER_MM)
        for number, layer in enumerate(layers):
            with pikepdf.open(io.BytesIO(layer)) as one:
                forms[f"/Art{number}"] = pdf.copy_foreign(one.pages[0].as_form_xobject())
            drawn.append(f"q 1 0 0 1 {-bleed:.4f} {-bleed:.4f} cm /Art{number} Do Q")
        forms["/Words"] = pdf.copy_foreign(text.pages[0].as_form_xobject())
        x, y = float(frame.left_mm * PT_PER_MM), float(frame.below_mm * PT_PER_MM)
        drawn.append(f"q 1 0 0 1 {x:.4f} {y:.4f} cm /Words Do Q")
        size = (
            float(frame.outer.width_mm * PT_PER_MM),
            float(frame.outer.height_mm * PT_PER_MM),
        )
        page = pdf.add_blank_page(page_size=size)
        page.obj.Resources = pikepdf.Dictionary(XObject=pikepdf.Dictionary(forms))
        page.obj.Contents = pdf.make_stream("\n".join(drawn).encode())
        written = io.BytesIO()
        pdf.save(written, object_stream_mode=pikepdf.ObjectStreamMode.generate)
    return written.getvalue()


@lru_cache(MOST_KEPT)
def art_layer(frame: Frame, dress: Dress) -> bytes:
    """The art with its bleed, as a page two millimetres larger on each side."""
    outer = frame.outer
    wide, high = float(outer.width_mm), float(outer.height_mm)
    drawn = _rect(-2, -2, wide + 4, high + 4, dress.look.ground)
    picture = dress.artwork
    if picture and (picture.is_ground or frame.kind == "ring"):
        drawn += _image(picture, -2, -2, wide + 4, high + 4)
    elif picture and frame.kind == "strip":
        drawn += _image(picture, -2, -2, wide + 4, float(frame.top_mm) + 2)
    elif dress.look.kind != "none":
        drawn += _grams(frame, dress, wide)
    return _page(outer, drawn)


def _grams(frame: Frame, dress: Dress, wide: float) -> str:
    if frame.kind == "ring":
        centre = wide / 2
        inside = centre - float(frame.left_mm) + AIR_MM
        art = ring(dress.grams, dress.look, inside, centre - 1)
        return f'<g transform="translate({centre} {centre})">{art}</g>'
    if frame.kind == "strip":
        foot = float(frame.top_mm)
        margin = float(frame.outer.margin_mm)
        art = row(dress.grams, dress.look, margin, wide - margin, foot - 0.2, foot - 1.2)
        line = (
            f'<path d="M{margin} {foot - 0.1:.2f}H{wide - margin:.2f}" stroke="{dress.look.dark}" '
            'stroke-width=".2"/>'
        )
        return art + line
    return ""


@lru_cache(MOST_KEPT)
def ground_layer(frame: Frame, dress: Dress) -> bytes:
    """The opaque ground of the words, above the art."""
    outer, colour = frame.outer, dress.look.ground
    wide, high = float(outer.width_mm), float(outer.height_mm)
    if frame.kind == "ring":
        centre, inside = wide / 2, wide / 2 - float(frame.left_mm)
        disc = f'<circle r="{inside:.3f}" fill="{colour}"/>{_sector(centre + 3, colour)}'
        return _page(outer, f'<g transform="translate({centre} {centre})">{disc}</g>')
    top = float(frame.top_mm) if frame.kind == "strip" else -2.0
    if dress.artwork and dress.artwork.is_ground:
        top = max(top, EDGE_MM)
        return _page(outer, _rect(EDGE_MM, top, wide - 2 * EDGE_MM, high - EDGE_MM - top, colour))
    return _page(outer, _rect(-2, top, wide + 4, high + 2 - top, colour))


def _rect(x: float, y: float, wide: float, high: float, colour: str) -> str:
    return f'<rect x="{x}" y="{y}" width="{wide}" height="{high}" fill="{colour}"/>'


def _sector(reach: float, colour: str) -> str:
    """What a ring leaves open below, where the net contents stand."""
    side = reach * (OPEN_HALF / 45)
    return f'<path d="M0 0L{side:.2f} {reach:.2f}H{-side:.2f}Z" fill="{colour}"/>'


def _image(picture: Artwork, x: float, y: float, wide: float, high: float) -> str:
    return (
        f'<image href="{picture.source}" x="{x}" y="{y}" width="{wide}" height="{high}" '
        'preserveAspectRatio="xMidYMid slice"/>'
    )


def _page(layout: Layout, drawn: str) -> bytes:
    wide, high = layout.width_mm + 2 * BLEED_MM, layout.height_mm + 2 * BLEED_MM
    svg = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
        f'viewBox="-2 -2 {wide} {high}">{drawn}</svg>'
    )
    rules = f"@page{{size:{wide}mm {high}mm;margin:0}}body{{margin:0}}svg{{display:block}}"
    page = HTML(string=f"<style>{rules}</style>{svg}", url_fetcher=NOTHING_OUTSIDE)
    written: bytes = page.render(font_config=fonts()).write_pdf()
    return written
