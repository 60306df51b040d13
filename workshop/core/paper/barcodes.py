"""Codes drawn as SVG, sized in whole dots so that small label printers keep them readable.

python-barcode says which bars a linear code has, zxing-cpp which modules a two-dimensional one.
"""

import re
from base64 import b64decode, b64encode
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import zxingcpp
from barcode.codex import Code128, Gs1_128
from barcode.ean import EAN8, EAN13
from barcode.upc import UPCA

# The smallest bar that reads back at 203 and at 300 dpi, printed without smoothing: four whole dots
# at 300 dpi. At 0.33 mm some places on the paper gave a second, wrong number with a right check
# digit. A square module needs 0.375 mm, three whole dots at 203 dpi.
BAR_MM = Decimal("0.3387")
MODULE_MM = Decimal("0.375")
# Light bars left and right of a code. Source: ISO/IEC 15417 (Code 128: 10) and 15420 (EAN-13: 11
# and 7, EAN-8: 7, UPC-A: 9), from memory.
QUIET_BARS = 10
TO_DIGITS = 99
DARK = re.compile("1+")
DRAWN = re.compile(
    r'<svg [^>]* width="([\d.]+)mm" height="([\d.]+)mm" viewBox="0 0 (\d+) 1"[^>]*>'
    r'<path d="((?:M\d+ 0h\d+v1h-\d+z)*)"/></svg>'
)
RUN = re.compile(r"M(\d+) 0h(\d+)")
SVG = "data:image/svg+xml;base64,"
RETAIL = {8: (EAN8, 7, 7), 12: (UPCA, 9, 9), 13: (EAN13, 11, 7)}


class _Code128(Code128):  # type: ignore[misc]  # the library has no types
    """python-barcode 0.16.1 takes a leading pair 99 for a switch of its tables and drops it."""

    def _try_to_optimize(self, encoded: list[int]) -> list[int]:
        is_pair = encoded[1] == TO_DIGITS
        shorter: list[int] = encoded if is_pair else super()._try_to_optimize(encoded)
        return shorter


def code128(text: str, *, bar_mm: Decimal = BAR_MM, height_mm: Decimal = Decimal(10)) -> str:
    """A Code 128 of `text` as SVG, with its quiet zones of ten bars each side."""
    (bars,) = _Code128(text).build()
    return _bars(bars, (QUIET_BARS, QUIET_BARS), bar_mm, height_mm)


def gs1_128_bars(data: str) -> bytes:
    """The bars of a GS1-128 of an element string, already checked, without quiet zones; 0 is black.

    `data` is of one identifier of fixed length, so that no separator stands in it.
    """
    (bars,) = Gs1_128(data).build()
    return bytes(bar == "0" for bar in bars)


def ean(gtin: str, *, bar_mm: Decimal = BAR_MM, height_mm: Decimal = Decimal(12)) -> str:
    """An EAN-8, EAN-13 or UPC-A of a GTIN of 8, 13 or 12 digits, already checked."""
    draw, left, right = RETAIL[len(gtin)]
    (bars,) = draw(gtin).build()
    return _bars(bars, (left, right), bar_mm, height_mm)


def _bars(bars: str, quiet: tuple[int, int], bar_mm: Decimal, height_mm: Decimal) -> str:
    """Bars as an SVG of one unit a bar, so that none is rounded on its own."""
    left, right = quiet
    width = left + len(bars) + right
    path = "".join(f"M{left + at} 0h{run}v1h-{run}z" for at, run in _runs(bars))
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width * bar_mm}mm" '
        f'height="{height_mm}mm" viewBox="0 0 {width} 1" preserveAspectRatio="none" '
        f'shape-rendering="crispEdges"><path d="{path}"/></svg>'
    )


def _runs(bars: str) -> Iterator[tuple[int, int]]:
    """Where each dark bar begins, and how wide it is."""
    return ((found.start(), len(found[0])) for found in DARK.finditer(bars))


def qr(text: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A QR code of `text` as SVG, with its quiet zone of four modules."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    return _sized(code.to_svg(add_quiet_zones=True), module_mm)


def gs1_datamatrix(elements: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A GS1 DataMatrix of "(01)...(10)...", already checked, with a quiet zone of one module."""
    code = _gs1_datamatrix(elements)
    return _sized(code.to_svg(add_quiet_zones=True), module_mm)


def gs1_qr(elements: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A GS1 QR code of "(01)...(10)...", already checked, with its quiet zone."""
    code = zxingcpp.create_barcode(elements, zxingcpp.BarcodeFormat.QRCode, gs1=True, ec_level="M")
    _refuse_plain(code)
    return _sized(code.to_svg(add_quiet_zones=True), module_mm)


def gs1_datamatrix_rows(elements: str) -> list[bytes]:
    """The modules of a GS1 DataMatrix without quiet zone, row by row; 0 is black."""
    image: Any = _gs1_datamatrix(elements).to_image(scale=1, add_quiet_zones=False)
    picture = memoryview(image)
    height = (picture.shape or (1,))[0]
    flat = bytes(picture)
    width = len(flat) // height
    return [flat[start : start + width] for start in range(0, len(flat), width)]


def _gs1_datamatrix(elements: str) -> zxingcpp.Barcode:
    """Square, as not every scanner reads the long forms."""
    form = zxingcpp.BarcodeFormat.DataMatrix
    code = zxingcpp.create_barcode(elements, form, gs1=True, force_square=True)
    _refuse_plain(code)
    return code


def _refuse_plain(code: zxingcpp.Barcode) -> None:
    """The writer passes over options it does not know and would write the brackets."""
    if code.content_type != zxingcpp.ContentType.GS1:
        raise ValueError("The bar code library did not write a GS1 code.")


def as_source(svg: str) -> str:
    """The SVG as the address of a picture, for pages that may load nothing else."""
    return SVG + b64encode(svg.encode()).decode()


@dataclass(frozen=True)
class Bars:
    """A linear code as it was drawn: its size, and where in its width each dark bar stands."""

    width_mm: float
    height_mm: float
    dark: list[tuple[float, float]]  # where it begins and how wide it is, in parts of the width


def bars_in(source: str) -> Bars | None:
    """A linear code of ours read back from `as_source`; None for any other picture."""
    if not source.startswith(SVG):
        return None
    found = DRAWN.fullmatch(b64decode(source.removeprefix(SVG)).decode())
    if found is None:
        return None
    many = int(found[3])
    dark = [(int(at) / many, int(run) / many) for at, run in RUN.findall(found[4])]
    return Bars(float(found[1]), float(found[2]), dark)


def _sized(svg: str, module_mm: Decimal) -> str:
    """Give zxing-cpp's SVG (one unit a module, no view box) a size on paper."""
    root = ElementTree.fromstring(svg)  # noqa: S314 -- made by our own library just now
    width, height = root.attrib["width"], root.attrib["height"]
    root.set("viewBox", f"0 0 {width} {height}")
    root.set("width", f"{int(width) * module_mm}mm")
    root.set("height", f"{int(height) * module_mm}mm")
    root.set("preserveAspectRatio", "none")
    root.set("shape-rendering", "crispEdges")
    return ElementTree.tostring(root, encoding="unicode")
