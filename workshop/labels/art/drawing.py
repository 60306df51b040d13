"""A label put together of three layers: art, an opaque ground, and the words and codes on it.

The words are drawn last and on a ground of their own, so no art reaches them whatever it is.
"""

import io
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from math import atan2, degrees, sqrt

import pikepdf
from weasyprint import HTML

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.labels.art.artwork import Artwork
from workshop.labels.art.frame import Frame
from workshop.labels.art.gram_art import OPEN_HALF, Look, ring, row
from workshop.labels.layout.label_stock import Layout
from workshop.labels.models import Carries

PT_PER_MM = Decimal(72) / Decimal("25.4")
BLEED_MM = Decimal(2)
# Between art and words.
AIR_MM = 0.6
# What artwork behind the whole label shows of itself along the edges.
EDGE_MM = 1.2
# What a logo keeps from the trim, which no cutter hits exactly; common practice, no source.
SAFE_MM = 2.0
# The least side of a logo, and how much longer than high it may be.
LEAST_LOGO_MM, LOGO_RATIO = 2.2, 4.0
STEP_MM = 0.1
MOST_KEPT = 256
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Dress:
    """All that a label looks like: what its grams are drawn as, artwork of its front and of labels
    that carry the information alone, and a logo, which never reaches the trim."""

    look: Look
    grams: int
    artwork: Artwork | None = None
    back: Artwork | None = None
    logo: Artwork | None = None

    @property
    def is_plain(self) -> bool:
        """Nothing but words on white."""
        own = self.artwork or self.back or self.logo
        return self.look.kind == "none" and own is None and self.look.ground.casefold() == "#ffffff"

    def artwork_on(self, layout: Layout) -> Artwork | None:
        """The artwork of a label: a back has its own, or else none."""
        return self.back if layout.carries == Carries.INFORMATION else self.artwork


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
    picture, filled = dress.artwork_on(outer), filled_by(frame, dress)
    if picture and filled:
        drawn += _image(picture, -2, -2, *filled)
    elif dress.look.kind != "none":
        drawn += _grams(frame, dress, wide)
    return _page(outer, drawn + _logo(frame, dress))


def filled_by(frame: Frame, dress: Dress) -> tuple[float, float] | None:
    """The width and height that the artwork fills, with its bleed; None where it has no place."""
    picture, outer = dress.artwork_on(frame.outer), frame.outer
    wide, high = float(outer.width_mm) + 4, float(outer.height_mm) + 4
    if picture is None:
        return None
    if picture.is_ground or frame.kind == "ring":
        return wide, high
    return (wide, float(frame.top_mm) + 2) if frame.kind == "strip" else None


def logo_box(frame: Frame, dress: Dress) -> Box | None:
    """Where the logo stands, x, y, width and height from the upper left corner; None for no room.

    It keeps the safe distance from the trim, and stands whole.
    """
    if dress.logo is None or frame.kind == "bare":
        return None
    if frame.kind == "ring":
        return _ring_logo_box(frame, _ratio(dress.logo))
    high = float(frame.top_mm) - SAFE_MM - AIR_MM
    wide, high = _within(LOGO_RATIO * high, high, _ratio(dress.logo))
    left = max(SAFE_MM, float(frame.outer.margin_mm))
    return _large_enough(left, SAFE_MM, wide, high)


def _ring_logo_box(frame: Frame, ratio: float) -> Box | None:
    """At the top of a ring: its upper corners, not its middle, come closest to the trim."""
    centre, ring_mm = float(frame.outer.width_mm) / 2, float(frame.left_mm) - AIR_MM
    high = ring_mm - SAFE_MM
    while high > 0:
        wide, low = _within(LOGO_RATIO * high, high, ratio)
        top = centre - sqrt(max(0.0, (centre - SAFE_MM) ** 2 - (wide / 2) ** 2))
        if top + low <= ring_mm:
            return _large_enough(centre - wide / 2, top, wide, low)
        high -= STEP_MM
    return None


def _within(most_wide: float, most_high: float, ratio: float) -> tuple[float, float]:
    """Width and height of something of this ratio, as large as it can be."""
    wide = min(most_wide, most_high * ratio)
    return wide, wide / ratio


def _large_enough(x: float, y: float, wide: float, high: float) -> Box | None:
    return (x, y, wide, high) if min(wide, high) >= LEAST_LOGO_MM else None


def _ratio(picture: Artwork) -> float:
    wide, high = picture.size
    return wide / high


def _logo(frame: Frame, dress: Dress) -> str:
    """The logo on a pad of its own, so that no artwork runs through it."""
    box = logo_box(frame, dress)
    if box is None or dress.logo is None:
        return ""
    x, y, wide, high = box
    pad = ""
    if dress.artwork_on(frame.outer):
        sides = (x - AIR_MM, y - AIR_MM, wide + 2 * AIR_MM, high + 2 * AIR_MM)
        pad = _rect(*sides, dress.look.ground)
    return pad + _image(dress.logo, x, y, wide, high, fit="meet")


def _grams(frame: Frame, dress: Dress, wide: float) -> str:
    logo = logo_box(frame, dress)
    if frame.kind == "ring":
        centre = wide / 2
        inside = centre - float(frame.left_mm) + AIR_MM
        shut = degrees(atan2(logo[2] / 2 + AIR_MM, inside)) if logo else 0.0
        art = ring(dress.grams, dress.look, inside, centre - 1, shut_half=shut)
        return f'<g transform="translate({centre} {centre})">{art}</g>'
    if frame.kind == "strip":
        foot = float(frame.top_mm)
        margin = float(frame.outer.margin_mm)
        left = logo[0] + logo[2] + 2 * AIR_MM if logo else margin
        art = row(dress.grams, dress.look, left, wide - margin, foot - 0.2, foot - 1.2)
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
    picture = dress.artwork_on(outer)
    if picture and picture.is_ground:
        top = max(top, EDGE_MM)
        return _page(outer, _rect(EDGE_MM, top, wide - 2 * EDGE_MM, high - EDGE_MM - top, colour))
    return _page(outer, _rect(-2, top, wide + 4, high + 2 - top, colour))


def _rect(x: float, y: float, wide: float, high: float, colour: str) -> str:
    return f'<rect x="{x}" y="{y}" width="{wide}" height="{high}" fill="{colour}"/>'


def _sector(reach: float, colour: str) -> str:
    """What a ring leaves open below, where the net contents stand."""
    side = reach * (OPEN_HALF / 45)
    return f'<path d="M0 0L{side:.2f} {reach:.2f}H{-side:.2f}Z" fill="{colour}"/>'


def _image(
    picture: Artwork, x: float, y: float, wide: float, high: float, *, fit: str = "slice"
) -> str:
    return (
        f'<image href="{picture.source}" x="{x:.3f}" y="{y:.3f}" width="{wide:.3f}" '
        f'height="{high:.3f}" preserveAspectRatio="xMidYMid {fit}"/>'
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
