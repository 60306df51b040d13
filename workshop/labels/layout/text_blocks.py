"""The texts of a label in their sizes of type, to reckon with before they are laid out."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, Decimal

from workshop.labels.content.label import Label
from workshop.labels.layout.font_metrics import lines_needed

# Heights of the label typeface in parts of its size: the small o without its overshoot, and a
# figure; measured from the font.
SMALL_LETTER = Decimal("0.486")
FIGURE = Decimal("0.638")
E_MARK_HIGH = Decimal("0.660")
# As css/label.css has them: line heights, the size of the name, the space below a paragraph.
LINE, NAME_LINE, NAME_SIZE, AFTER = 1.05, 1.05, 1.45, 0.25
# The serif of names is so much wider than the bold of words, which widths are reckoned with.
NAME_WIDE = 1.06
# A front that has a panel of its own has room for a larger name.
PANEL_NAME_SIZE = 1.9


# A figure stays with its unit, a day with its month and year, and the signs that French sets apart
# with the word before them.
_MONTH = r"[^\W\d]{3,5}\.?"
_BOUND = re.compile(
    rf"(?<=\d) (?=(?:g|kg|oz|fl oz|lb|ml|mL|L|%)(?!\w))|(?<=\d) (?={_MONTH} \d{{4}})|"
    rf"(?<=\d\.) (?={_MONTH} \d{{4}})| (?=[:;!?»](?!\S))|(?<=«) |(?<=\bÀ) "
)
_YEAR = re.compile(rf"(?<=\d\xa0)({_MONTH}) (?=\d{{4}})|(?<=\d\.\xa0)({_MONTH}) (?=\d{{4}})")


def with_nbsp(text: str) -> str:
    """The text with spaces that no line ends at, where parting would look odd."""
    return _YEAR.sub(lambda hit: f"{hit[1] or hit[2]}\xa0", _BOUND.sub("\xa0", text))


def bound(label: Label) -> Label:
    """The label with its words as they may be broken into lines."""
    return replace(
        label,
        name=with_nbsp(label.name),
        identity=with_nbsp(label.identity),
        organic_statement=with_nbsp(label.organic_statement),
        claims=with_nbsp(label.claims),
        directions=with_nbsp(label.directions),
        cautions=with_nbsp(label.cautions),
        responsible_lines=tuple(map(with_nbsp, label.responsible_lines)),
        date_line=with_nbsp(label.date_line),
        opened_line=with_nbsp(label.opened_line),
    )


@dataclass(frozen=True)
class Sizes:
    """Heights of letters, in millimetres."""

    letter_mm: Decimal
    net_mm: Decimal

    @property
    def type_mm(self) -> Decimal:
        return type_mm(self.letter_mm)

    @property
    def net_type_mm(self) -> Decimal:
        return type_mm(self.net_mm)


def type_mm(letter_mm: Decimal) -> Decimal:
    """The size of type whose small letters are so high, rounded up."""
    return (letter_mm / SMALL_LETTER).quantize(Decimal("0.001"), ROUND_CEILING)


@dataclass(frozen=True, kw_only=True)
class TextBlock:
    """A text in one size of type, as it stands on a label."""

    text: str
    size_mm: float
    line_mm: float
    is_bold: bool = False
    after_mm: float = 0.0
    wide: float = 1.0

    def height_mm(self, width_mm: float) -> float:
        """What it takes in a column of one width."""
        lines = lines_needed(
            self.text, lambda _: width_mm / (self.size_mm * self.wide), is_bold=self.is_bold
        )
        return lines * self.line_mm + self.after_mm


def paragraphs(*texts: str, size: float, is_bold: bool = False) -> list[TextBlock]:
    return [
        TextBlock(
            text=text, size_mm=size, line_mm=size * LINE, is_bold=is_bold, after_mm=size * AFTER
        )
        for text in texts
        if text
    ]


def heading(text: str, size: float, *, times: float = NAME_SIZE) -> TextBlock:
    head = size * times
    return TextBlock(
        text=text,
        size_mm=head,
        line_mm=head * NAME_LINE,
        is_bold=True,
        after_mm=head * AFTER,
        wide=NAME_WIDE,
    )


def front(label: Label, sizes: Sizes, *, name_size: float = NAME_SIZE) -> list[TextBlock]:
    """Name, what it is, and the claims."""
    size = float(sizes.type_mm)
    return [
        heading(label.name, size, times=name_size),
        *paragraphs(label.identity, size=size),
        *paragraphs(label.organic_statement, label.claims, size=size, is_bold=True),
    ]


def information(
    label: Label, sizes: Sizes, *, maker: Sequence[str] | None = None
) -> list[TextBlock]:
    """List, directions, cautions, maker; or what of the maker does not stand elsewhere."""
    words = f"{label.declaration.list_text} {label.declaration.organic_line}".strip()
    if maker is None:
        maker = (*label.responsible_lines, ", ".join(label.maker_lines), label.certifier_line)
    lines = "\n".join(filter(None, maker))
    return paragraphs(words, label.directions, label.cautions, lines, size=float(sizes.type_mm))


def lot_lines(label: Label) -> list[str]:
    lines = (label.lot_line, label.date_line, label.opened_line)
    return [line for line in lines if line]


def net(label: Label, sizes: Sizes) -> TextBlock:
    """The net contents, and the clear space above them."""
    size = float(sizes.net_type_mm)
    return TextBlock(
        text=label.net_contents, size_mm=size, line_mm=size, is_bold=True,
        after_mm=float(sizes.net_mm),
    )  # fmt: skip
