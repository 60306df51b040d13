"""The markup of one label, and where its parts stand at one size of type."""

import re
from decimal import Decimal
from functools import cached_property
from typing import Any

from django.template.loader import render_to_string
from weasyprint import CSS, HTML

from workshop.core.paper.css_layout import NOTHING_OUTSIDE, fonts
from workshop.labels.content.label import Label
from workshop.labels.layout.barcode_data import BarcodeImage, codes_of, numbered_code_mm
from workshop.labels.layout.font_metrics import width_em
from workshop.labels.layout.label_stock import Layout
from workshop.labels.layout.label_style import style_sheet
from workshop.labels.layout.least_type import least_letter_mm, least_net_mm
from workshop.labels.layout.rim_text import Rim, beside_rim, rim_for
from workshop.labels.layout.round_codes import (
    ABOVE_TILL_MM,
    BESIDE_CODE_MM,
    MOST_BESIDE_MM,
    lot_rows,
)
from workshop.labels.layout.round_label import (
    EASE,
    INSET_MM,
    Circle,
    Foot,
    best_start,
    foot_of,
    foot_of_rows,
    parts_of,
)
from workshop.labels.layout.symbols import dated
from workshop.labels.layout.text_blocks import (
    LINE,
    PANEL_NAME_SIZE,
    Sizes,
    TextBlock,
    bound,
    front,
    information,
    lot_lines,
    net,
    type_mm,
)
from workshop.labels.models import Carries

# The words of a lot stand on one line where the guess at their width is a little wrong.
WORDS_EASE = 1.03
# What parts the code of the lot from that of the GTIN when they stand side by side.
BETWEEN_CODES_MM = 2
_SPACE_AT_END = re.compile(r"\s+(?=</(?:p|span)>)")
# As css/label.css has it: the quiet zones of a code that is drawn later.
AROUND_NUMBERED_MM, ABOVE_NUMBERED_MM = 1.4, 0.8
PAPER, STICKER = "labels/paper.html", "labels/paper_sticker.html"
# The front beside the information: its least and largest part of the width, and what parts them.
FRONT_PART, MOST_FRONT_PART, PARTED_MM = Decimal("0.38"), Decimal("0.56"), Decimal(4)


class Page:
    """One label, to be laid out at one size of type or several."""

    def __init__(
        self,
        label: Label,
        layout: Layout,
        *,
        preview: bool = False,
        template: str = PAPER,
        numbered: bool = False,
        panel: Layout | None = None,
    ) -> None:
        """`panel` is the whole label where art leaves only a part of it to the words."""
        self.label, self.layout, self.panel = bound(label), layout, panel or layout
        self.preview, self.template, self.numbered = preview, template, numbered
        self.code_mm = numbered_code_mm(label, layout) if numbered else Decimal(0)

    @cached_property
    def least_net_mm(self) -> Decimal:
        """The least height of a small letter in the net contents, by the main panel's area."""
        return least_net_mm(self.label, self.panel.area_sq_in) if self.has_front else Decimal(0)

    @property
    def has_front(self) -> bool:
        return self.layout.carries != Carries.INFORMATION and not self.is_sticker

    @property
    def has_information(self) -> bool:
        return self.layout.carries != Carries.FRONT

    @property
    def is_sticker(self) -> bool:
        return self.template == STICKER

    @property
    def is_wide(self) -> bool:
        return self.layout.is_wide and not self.is_sticker

    @property
    def is_band(self) -> bool:
        return self.layout.is_band and not self.is_sticker

    def side_mm(self, sizes: Sizes) -> float:
        """The width of the codes beside the words of a band, and of the words of the lot there."""
        size, till = float(sizes.type_mm), self.pictures.get("gtin")
        lines = [width_em(line) * size * WORDS_EASE for line in lot_lines(self.label)]
        if till is None:
            return self.lot_code_mm + BESIDE_CODE_MM + max(lines)
        return max(self.lot_code_mm + BETWEEN_CODES_MM + till.width_mm, lines[0])

    @cached_property
    def circle(self) -> Circle | None:
        """The circle that a lid or base fills; what is both keeps to the square inside it."""
        if not self.layout.is_round or self.layout.carries == Carries.ALL or self.is_sticker:
            return None
        return Circle(self.layout.width_mm, self.rim.taken_mm if self.rim else INSET_MM)

    @cached_property
    def rim(self) -> Rim | None:
        """The maker along the rim of a base, with the certifier or responsible person below it."""
        is_base = self.layout.is_round and self.layout.carries == Carries.INFORMATION
        size = type_mm(least_letter_mm(self.label))
        return rim_for(self.label, self.layout.width_mm, size) if is_base else None

    @property
    def maker_block(self) -> tuple[str, ...]:
        return beside_rim(self.label, self.rim)

    @cached_property
    def indents(self) -> list[float]:
        """How far lines are held off each edge, step by step from the top; only in a circle."""
        return self.circle.indents(0, float(self.layout.height_mm) - 1) if self.circle else []

    @cached_property
    def net_parts(self) -> tuple[str, ...]:
        """The net contents, to be broken nowhere else: in a circle where they stand lowest."""
        if not self.has_front:
            return ()
        foot = self._circle_foot(Sizes(self.least_net_mm, self.least_net_mm))
        return foot.lines if foot else parts_of(self.label.net_contents)

    def _circle_foot(self, sizes: Sizes) -> Foot | None:
        if self.circle is None:
            return None
        if self.has_information:
            return foot_of_rows(self.circle, self._code_rows(sizes))
        return foot_of(self.circle, self.label.net_contents, float(sizes.net_type_mm))

    @property
    def is_stacked(self) -> bool:
        """Whether the words of the lot stand below its code, where a circle has no room beside."""
        in_circle = self.has_information and self.circle is not None
        return in_circle and self.lot_code_mm > MOST_BESIDE_MM

    def _code_rows(self, sizes: Sizes) -> list[tuple[float, float]]:
        """The rows of codes at the foot of a base, from the top one down: width and height."""
        code = (self.lot_code_mm, self._codes_mm(sizes))
        rows = lot_rows(self.label, float(sizes.type_mm), code, is_stacked=self.is_stacked)
        till = self.pictures.get("gtin")
        if till:
            below = LINE * float(sizes.type_mm) + ABOVE_TILL_MM
            rows.append((till.width_mm, till.height_mm + below))
        return rows

    @cached_property
    def pictures(self) -> dict[str, BarcodeImage]:
        return codes_of(self.label, self.layout) if self.has_information else {}

    @cached_property
    def codes_are_beside(self) -> bool:
        """Whether the code of the lot and that of the GTIN stand side by side."""
        if "gtin" not in self.pictures or self.circle:
            return False
        room = self.layout.inner_width_mm
        if self.is_wide:
            room -= self.front_mm(Sizes(self.least_net_mm, self.least_net_mm)) + PARTED_MM
        return self.lot_code_mm + self.pictures["gtin"].width_mm + BETWEEN_CODES_MM <= room

    def _codes_mm(self, sizes: Sizes) -> float:
        """The height of the codes, which float and so give their part none of their own."""
        code = self.pictures["code"].height_mm
        if self.code_mm:
            code = float(self.code_mm) + ABOVE_NUMBERED_MM
        if not self.codes_are_beside:
            return code
        return max(code, self.pictures["gtin"].height_mm + LINE * float(sizes.type_mm))

    @property
    def lot_code_mm(self) -> float:
        """The width of the code of the lot, or of the place kept for a numbered one."""
        if self.code_mm:
            return float(self.code_mm) + AROUND_NUMBERED_MM
        return self.pictures["code"].width_mm

    @cached_property
    def html(self) -> str:
        context = {
            "label": self.label,
            "layout": self.layout,
            "date_line": dated(self.label.date_line),
            "preview": self.preview and ("NOT FOR USE" if self.label.stops else "PREVIEW"),
            "numbered": self.numbered,
            "wide": self.codes_are_beside,
            "is_wide": self.is_wide,
            "is_band": self.is_band,
            "has_front": self.has_front,
            "has_information": self.has_information,
            "maker": self.maker_block,
            "rim": self.rim,
            "stacked": self.is_stacked,
            "indents": range(len(self.indents)),
            "net_parts": self.net_parts,
            "net_text": " ".join(part.replace(" ", "\xa0") for part in self.net_parts),
            **{name: picture.source for name, picture in self.pictures.items()},
        }
        # A space after the last word would push a line that just fits over to the next.
        return _SPACE_AT_END.sub("", render_to_string(self.template, context))

    @cached_property
    def parsed(self) -> HTML:
        return HTML(string=self.html, url_fetcher=NOTHING_OUTSIDE)

    def laid_out(self, sizes: Sizes) -> Any:
        own = CSS(string=self.style(sizes), url_fetcher=NOTHING_OUTSIDE)
        return self.parsed.render(stylesheets=[style_sheet(), own], font_config=fonts())

    def style(self, sizes: Sizes) -> str:
        """What differs from label to label: its size, its type, and where its parts stand."""
        layout = self.layout
        margin = Decimal(0) if self.circle else layout.margin_mm
        rules = [
            f"@page {{ size: {layout.width_mm}mm {layout.height_mm}mm; margin: {margin}mm }}",
            f"body {{ font-size: {sizes.type_mm}mm }}",
            f"#net {{ font-size: {sizes.net_type_mm}mm; margin-top: {sizes.net_mm}mm }}",
            f"#foot {{ bottom: {self.below_mm(sizes):.3f}mm }}",
        ]
        if self.is_wide:
            narrow = self.front_mm(sizes)
            rules += [
                f".front, #foot {{ width: {narrow:.3f}mm }}",
                f".information {{ margin-left: {narrow + PARTED_MM:.3f}mm }}",
                f".front {{ top: {self._front_top_mm(sizes):.3f}mm }}"
                f"#name {{ font-size: {PANEL_NAME_SIZE}em }}",
            ]
        if self.is_band:
            side = self.side_mm(sizes)
            rules.append(
                f".information {{ margin-right: {side + float(PARTED_MM):.3f}mm }}"
                f"#side {{ width: {side:.3f}mm }}"
            )
        if self.code_mm:
            rules.append(f"#here-code {{ width: {self.code_mm}mm; height: {self.code_mm}mm }}")
        if "code" in self.pictures:
            beside = self.lot_code_mm + BESIDE_CODE_MM
            rules.append(
                f"#code {{ width: {self.lot_code_mm:.3f}mm }}"
                f".codes #lot {{ margin-left: {0 if self.is_stacked else beside:.3f}mm }}"
                f".codes {{ min-height: {self._codes_mm(sizes):.3f}mm }}"
            )
        return "".join([*rules, *self._circle_rules(sizes)])

    def _front_top_mm(self, sizes: Sizes) -> float:
        """How far down the front begins: a little above the middle of what the foot leaves free."""
        width = float(self.front_mm(sizes))
        texts = [*front(self.label, sizes, name_size=PANEL_NAME_SIZE), net(self.label, sizes)]
        high = float(self.layout.height_mm - 2 * self.layout.margin_mm - self.below_mm(sizes))
        return max(0.0, 0.4 * (high - sum(one.height_mm(width) for one in texts)))

    def circle_texts(self, sizes: Sizes) -> list[TextBlock]:
        """What runs from edge to edge of a circle, above its foot."""
        if self.has_information:
            return information(self.label, sizes, maker=self.maker_block)
        return front(self.label, sizes)

    def circle_stop(self, sizes: Sizes) -> float:
        """How far down the front of a circle may reach: to the clear space of its foot."""
        foot = self._circle_foot(sizes)
        return float(self.layout.height_mm - sizes.net_mm) - foot.top_mm if foot else 0.0

    def _circle_rules(self, sizes: Sizes) -> list[str]:
        circle, foot = self.circle, self._circle_foot(sizes)
        if circle is None or foot is None:
            return []
        start = best_start(circle, self.circle_texts(sizes), self.circle_stop(sizes))
        left = circle.centre - foot.width_mm / 2
        return [
            f"#foot {{ bottom: {foot.bottom_mm:.3f}mm; left: {left:.3f}mm;"
            f" width: {foot.width_mm:.3f}mm }}"
            f"#net {{ margin: 0 }} #top {{ height: {start:.3f}mm }}",
            *(
                f".indent{place} {{ width: {width:.3f}mm }}"
                for place, width in enumerate(self.indents)
            ),
        ]

    def below_mm(self, sizes: Sizes) -> Decimal:
        """21 CFR 701.13(f): clear space of one letter below the net contents."""
        return (
            max(Decimal(0), sizes.net_mm - self.layout.margin_mm) if self.has_front else Decimal(0)
        )

    def front_mm(self, sizes: Sizes) -> Decimal:
        """The width of the front beside the information: for the net contents on one line."""
        inner = self.layout.inner_width_mm
        wide = (width_em(self.label.net_contents, is_bold=True) + 0.5) * float(sizes.net_type_mm)
        return max(inner * FRONT_PART, min(inner * MOST_FRONT_PART, Decimal(wide * EASE)))
