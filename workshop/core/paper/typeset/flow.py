"""The blocks of a paper, one below the other."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from workshop.core.paper.barcodes import bars_in
from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.chunks import (
    LINE,
    PT_PER_MM,
    Bar,
    Chunk,
    Code,
    Drawing,
    Mark,
    Rule,
    Tag,
    joined,
    moved,
    words_at,
)
from workshop.core.paper.typeset.lines import INLINE, Manner, lines_of, text_of
from workshop.core.paper.typeset.pictures import Picture
from workshop.core.paper.typeset.reading import Element
from workshop.core.paper.typeset.tables import table

MM = PT_PER_MM
# Size, space before and after, in points.
HEADINGS = {
    "h1": (15, 0, 1 * MM),
    "h2": (11, 6 * MM, 1.5 * MM),
    "h3": (10, 4 * MM, 1 * MM),
}
RULE_HIGH_PT, RULE_AFTER_PT = 2.6 * MM, 2 * MM  # the graduated rule that a title stands on
PARAGRAPH = (1 * MM, 2 * MM)
LIST_PT, MARK_PT = 8 * MM, 6.5 * MM
FACT_PT, FACT_GAP_PT, FACT_STEP_PT = 38 * MM, 3 * MM, 0.8 * MM
FRAME = (3 * MM, 2 * MM)
SIGN_PT, SIGN_GAP_PT, SIGN_BEFORE_PT = 8, 6 * MM, 12 * MM
AS_ONE = 3  # lines; a longer paragraph may be parted, with two lines on either side
TABLE_PT = {"recall-report": 7.5, "record": 8.5}
NOTHING = Manner()


@dataclass
class Flow:
    """Blocks of that width; beside a picture at the right they are narrower."""

    full_pt: float
    tag: Tag
    pictures: Sequence[Picture]
    table_pt: float
    chunks: list[Chunk] = field(default_factory=list)
    beside_pt: float = 0
    beside_high_pt: float = 0

    @property
    def width_pt(self) -> float:
        return self.full_pt - (self.beside_pt if self.beside_high_pt > 0 else 0)

    def put(self, chunk: Chunk) -> None:
        self.chunks.append(chunk)
        self.beside_high_pt -= chunk.height_pt + chunk.after_pt

    def blocks(self, inside: Iterable[Element | str], manner: Manner = NOTHING) -> None:
        """Every block; words that stand between blocks are a paragraph without space around it."""
        loose: list[Element | str] = []
        for one in inside:
            if isinstance(one, str) or one.name in INLINE or one.name == "br":
                loose.append(one)
                continue
            self.paragraph(loose, manner, "P")
            loose = []
            self.block(one, manner)
        self.paragraph(loose, manner, "P")

    def block(self, one: Element, manner: Manner) -> None:
        ways = {
            "p": self.plain,
            "ul": self.items,
            "ol": self.items,
            "dl": self.facts,
            "table": self.table,
            "picture": self.picture,
            "img": self.code,
            "div": self.box,
            "section": self.box,
        }
        if "unseen" in one.classes:
            return
        way = self.heading if one.name in HEADINGS else ways.get(one.name)
        if way is None:
            raise CannotSet(one.name)
        way(one, manner)

    def heading(self, one: Element, manner: Manner) -> None:
        size, *around = HEADINGS[one.name]
        own = replace(manner, size_pt=size).within(one)
        self.paragraph(one.inside, own, one.name.upper(), (around[0], around[1]), keeps=True)
        if one.name == "h1":
            rule: list[Mark] = [Rule(0, 0, self.width_pt)]
            self.put(Chunk(RULE_HIGH_PT, rule, after_pt=RULE_AFTER_PT, keeps=True))

    def plain(self, one: Element, manner: Manner) -> None:
        is_right = "r" in one.classes
        self.paragraph(one.inside, manner.within(one), "P", PARAGRAPH, is_right=is_right)

    def box(self, one: Element, manner: Manner) -> None:
        if "caution" in one.classes:
            self.framed(one, manner)
        elif "sign" in one.classes:
            self.signatures(one)
        else:
            self.blocks(one.inside, manner.within(one))

    def paragraph(
        self,
        inside: Iterable[Element | str],
        manner: Manner,
        kind: str,
        around_pt: tuple[float, float] = (0, 0),
        *,
        keeps: bool = False,
        is_right: bool = False,
    ) -> None:
        text = text_of(inside, manner)
        if not text:
            return
        width, high = self.width_pt, manner.size_pt * LINE
        title = " ".join(piece.text for words in text for word in words for piece in word.pieces)
        tag = self.tag.add(kind, title if keeps else "")
        right = width if is_right else None
        lines = list(lines_of(text, width))
        before, after = around_pt
        for first, last in _parts(len(lines), is_one=keeps):
            marks = list(words_at(lines[first:last], manner.size_pt, tag, right_pt=right))
            above, below = before if not first else 0, after if last == len(lines) else 0
            self.put(Chunk(high * (last - first), [*marks], above, below, keeps))

    def items(self, one: Element, manner: Manner) -> None:
        tag, before = self.tag.add("L"), PARAGRAPH[0]
        items = list(one.elements)
        _only(items, "li")
        number = 0
        for item in items:
            number = int(item.attributes.get("value", number + 1))
            said = f"{number}." if one.name == "ol" else "•"
            within, size = tag.add("LI"), manner.size_pt
            (mark,) = lines_of(text_of([said], manner), self.width_pt)
            lines = list(lines_of(text_of(item.inside, manner), self.width_pt - LIST_PT))
            marks = [
                *words_at([mark], size, within.add("Lbl"), right_pt=MARK_PT),
                *words_at(lines, size, within.add("LBody"), x_pt=LIST_PT),
            ]
            after = PARAGRAPH[1] if item is items[-1] else MM
            self.put(Chunk(max(len(lines), 1) * size * LINE, [*marks], before, after))
            before = 0

    def facts(self, one: Element, manner: Manner) -> None:
        tag, before, left = self.tag.add("L"), PARAGRAPH[0], FACT_PT + FACT_GAP_PT
        pairs = _pairs(list(one.elements))
        for number, (name, fact) in enumerate(pairs, start=1):
            within, size = tag.add("LI"), manner.size_pt
            names = list(lines_of(text_of(name.inside, manner.within(name)), FACT_PT))
            facts = list(lines_of(text_of(fact.inside, manner.within(fact)), self.width_pt - left))
            marks = [
                *words_at(names, size, within.add("Lbl")),
                *words_at(facts, size, within.add("LBody"), x_pt=left),
            ]
            after = 3 * MM if number == len(pairs) else FACT_STEP_PT
            self.put(Chunk(max(len(names), len(facts), 1) * size * LINE, [*marks], before, after))
            before = 0

    def table(self, one: Element, manner: Manner) -> None:
        own = replace(manner, size_pt=self.table_pt)
        for chunk in table(one, self.width_pt, own, self.tag):
            self.put(chunk)

    def picture(self, one: Element, _: Manner) -> None:
        number = int(one.attributes["number"])
        picture = self.pictures[number]
        tag = self.tag.add("Figure", one.attributes["alt"])
        wide, high = picture.width_pt, picture.height_pt
        self.placed(one, wide, high, lambda x: Drawing(x, 0, number, tag))

    def code(self, one: Element, _: Manner) -> None:
        """A linear code is drawn here: to lay out a picture would take longer than all the rest."""
        code = bars_in(one.attributes["src"])
        if code is None:
            raise CannotSet(one.name)
        tag = self.tag.add("Figure", one.attributes.get("alt", ""))
        wide, high = code.width_mm * MM, code.height_mm * MM
        self.placed(one, wide, high, lambda x: Code(x, 0, wide, high, code.dark, tag))

    def placed(
        self, one: Element, wide_pt: float, high_pt: float, drawn: Callable[[float], Mark]
    ) -> None:
        """At the left with room of its own, or beside what follows."""
        is_beside = "bars" in one.classes
        mark = drawn(self.full_pt - wide_pt if is_beside else 0)
        high = 0 if is_beside else high_pt
        self.put(Chunk(high, [mark], after_pt=0 if is_beside else MM, keeps=is_beside))
        if is_beside:
            self.beside_pt, self.beside_high_pt = wide_pt + FACT_GAP_PT, high_pt

    def framed(self, one: Element, manner: Manner) -> None:
        right, down = FRAME
        width = self.width_pt
        inner = Flow(width - 2 * right, self.tag.add("Div"), self.pictures, self.table_pt)
        inner.blocks(one.inside, manner.within(one))
        high, marks = joined(inner.chunks)
        high += 2 * down
        frame: list[Mark] = [
            Bar(0, 0, width, 1),
            Bar(0, high - 1, width, 1),
            Bar(0, 0, 1, high),
            Bar(width - 1, 0, 1, high),
        ]
        self.put(Chunk(high, [*frame, *moved(marks, right, down)], 2 * MM, 2 * MM))

    def signatures(self, one: Element) -> None:
        boxes = list(one.elements)
        wide = (self.width_pt - SIGN_GAP_PT * (len(boxes) - 1)) / len(boxes)
        marks: list[Mark] = []
        for number, box in enumerate(boxes):
            left = number * (wide + SIGN_GAP_PT)
            lines = lines_of(text_of(box.inside, Manner(size_pt=SIGN_PT)), wide)
            marks.append(Bar(left, 0, wide, 0.6))
            tag = self.tag.add("P")
            marks.extend(words_at(lines, SIGN_PT, tag, x_pt=left, y_pt=MM))
        self.put(Chunk(SIGN_PT * LINE + MM, marks, SIGN_BEFORE_PT))


def _only(elements: Iterable[Element], name: str) -> None:
    for one in elements:
        if one.name != name:
            raise CannotSet(one.name)


def _pairs(elements: list[Element]) -> list[tuple[Element, Element]]:
    """Each name with its one fact."""
    names, facts = elements[::2], elements[1::2]
    _only(names, "dt")
    _only(facts, "dd")
    if len(names) != len(facts):
        raise CannotSet("a name without a fact")
    return list(zip(names, facts, strict=True))


def _parts(count: int, *, is_one: bool) -> Iterator[tuple[int, int]]:
    """Which lines stay together."""
    if is_one or count <= AS_ONE:
        yield 0, count
        return
    yield 0, 2
    yield from ((line, line + 1) for line in range(2, count - 2))
    yield count - 2, count


def flow_of(body: Element, width_pt: float, tag: Tag, pictures: Sequence[Picture]) -> list[Chunk]:
    size = next((TABLE_PT[name] for name in body.classes if name in TABLE_PT), NOTHING.size_pt)
    flow = Flow(width_pt, tag, pictures, size)
    flow.blocks(body.inside)
    return flow.chunks
