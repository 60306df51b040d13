"""Codes drawn as SVG, sized in whole dots so that small label printers keep them readable."""

from base64 import b64encode
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import zxingcpp

# 0.33 mm is the smallest bar that reads back at 203 and at 300 dpi, printed without smoothing;
# a square module needs 0.375 mm, three whole dots at 203 dpi.
BAR_MM = Decimal("0.33")
MODULE_MM = Decimal("0.375")


def code128(text: str, *, bar_mm: Decimal = BAR_MM, height_mm: Decimal = Decimal(10)) -> str:
    """A Code 128 of `text` as SVG, with its quiet zones of ten bars each side."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.Code128)
    return _stretched(code.to_svg(add_quiet_zones=True), bar_mm, height_mm)


def ean(gtin: str, *, bar_mm: Decimal = BAR_MM, height_mm: Decimal = Decimal(12)) -> str:
    """An EAN-13 of a GTIN-13, or a UPC-A of a GTIN-12, already checked."""
    formats = {
        8: zxingcpp.BarcodeFormat.EAN8,
        12: zxingcpp.BarcodeFormat.UPCA,
        13: zxingcpp.BarcodeFormat.EAN13,
    }
    code = zxingcpp.create_barcode(gtin, formats[len(gtin)])
    return _stretched(code.to_svg(add_quiet_zones=True), bar_mm, height_mm)


def qr(text: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A QR code of `text` as SVG, with its quiet zone of four modules."""
    code = zxingcpp.create_barcode(text, zxingcpp.BarcodeFormat.QRCode, ec_level="M")
    return _stretched(code.to_svg(add_quiet_zones=True), module_mm, None)


def gs1_datamatrix(elements: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A GS1 DataMatrix of "(01)...(10)...", already checked, with a quiet zone of one module."""
    code = _gs1_datamatrix(elements)
    return _stretched(code.to_svg(add_quiet_zones=True), module_mm, None)


def gs1_qr(elements: str, *, module_mm: Decimal = MODULE_MM) -> str:
    """A GS1 QR code of "(01)...(10)...", already checked, with its quiet zone."""
    code = zxingcpp.create_barcode(elements, zxingcpp.BarcodeFormat.QRCode, gs1=True, ec_level="M")
    _refuse_plain(code)
    return _stretched(code.to_svg(add_quiet_zones=True), module_mm, None)


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
    return "data:image/svg+xml;base64," + b64encode(svg.encode()).decode()


def _stretched(svg: str, unit_mm: Decimal, height_mm: Decimal | None) -> str:
    """Give zxing-cpp's SVG (one unit a module, no view box) a size on paper."""
    root = ElementTree.fromstring(svg)  # noqa: S314 -- as above
    width, height = root.attrib["width"], root.attrib["height"]
    root.set("viewBox", f"0 0 {width} {height}")
    root.set("width", f"{int(width) * unit_mm}mm")
    root.set("height", f"{height_mm if height_mm is not None else int(height) * unit_mm}mm")
    root.set("preserveAspectRatio", "none")
    root.set("shape-rendering", "crispEdges")
    return ElementTree.tostring(root, encoding="unicode")
