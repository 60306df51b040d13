"""Words with their manner, and the lines that they fill."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from enum import Enum
from itertools import chain, pairwise
from typing import NamedTuple

from workshop.core.paper.typeset import CannotSet
from workshop.core.paper.typeset.glyphs import width_of
from workshop.core.paper.typeset.reading import Element

INLINE = {"a", "span", "b", "strong", "em", "s", "time", "small", "code", "bdi", "abbr"}
BLOCKS = {"p", "div", "li", "ul"}
BOLD = {"b", "strong", "th"}
HEADINGS = {"h1", "h2", "h3"}
GAP = re.compile(r"[ \t\n\r\f]+")
LONGEST, PIECE = 24, 20  # a longer word may go on in the next line


@dataclass(frozen=True)
class Manner:
    """How letters look."""

    face: str = "plain"
    size_pt: float = 9.5
    is_grey: bool = False
    is_struck: bool = False
    is_whole: bool = False  # not broken between its words

    def within(self, element: Element, *, may_keep: bool = True) -> "Manner":
        """The manner of what stands in that element."""
        classes = element.classes
        changed = self
        if element.name in BOLD:
            changed = replace(changed, face="serif" if changed.face == "serif" else "bold")
        if element.name in HEADINGS:
            changed = replace(changed, face="serif")
        if element.name == "s" or "struck" in classes:
            changed = replace(changed, is_struck=True)
        if "quiet" in classes or element.name == "dt":
            changed = replace(changed, is_grey=True)
        if "digest" in classes:
            changed = replace(changed, face="mono", size_pt=7.5)
        if may_keep and {"nowrap", "code", "lot", "num", "r"}.intersection(classes):
            changed = replace(changed, is_whole=True)
        return changed


class Gap(Enum):
    """What stands before the next word: nothing, room to break, or a space that holds."""

    NONE, SOFT, FIRM = range(3)


class Piece(NamedTuple):
    text: str
    manner: Manner

    @property
    def width_pt(self) -> float:
        return width_of(self.manner.face, self.text) * self.manner.size_pt


@dataclass
class Word:
    """What stays together on a line; `is_apart` says that a space stands before it."""

    pieces: list[Piece]
    is_apart: bool
    width_pt: float = field(init=False)

    def __post_init__(self) -> None:
        self.width_pt = sum(piece.width_pt for piece in self.pieces)

    def added(self, pieces: list[Piece]) -> "Word":
        return Word([*self.pieces, *pieces], self.is_apart)


class Text(list[list[Word]]):
    """Paragraphs of words; each begins on a line of its own."""

    @property
    def least_pt(self) -> float:
        """The width of the widest word."""
        return max((word.width_pt for words in self for word in words), default=0)

    @property
    def most_pt(self) -> float:
        """The width at which every paragraph takes one line."""
        return max((sum(_advance(word) for word in words) for words in self), default=0)


def text_of(inside: Iterable[Element | str], manner: Manner, *, may_keep: bool = True) -> Text:
    """The words of a cell or a paragraph."""
    writer = _Writer(may_keep=may_keep)
    writer.write(inside, manner)
    while writer.text and not writer.text[-1]:
        writer.text.pop()
    return writer.text


class _Writer:
    def __init__(self, *, may_keep: bool) -> None:
        self.text = Text([[]])
        self.may_keep = may_keep
        self.gap = Gap.NONE

    def write(self, inside: Iterable[Element | str], manner: Manner) -> None:
        for one in inside:
            if isinstance(one, str):
                self._letters(one, manner)
            elif one.name == "br":
                self._turn()
            elif one.name in INLINE:
                self.write(one.inside, manner.within(one, may_keep=self.may_keep))
            elif one.name in BLOCKS:
                self._block(one, manner)
            elif one.name != "drawing" and one.name != "wbr":
                raise CannotSet(one.name)

    def _block(self, element: Element, manner: Manner) -> None:
        if self.text[-1]:
            self._turn()
        if element.name == "li":
            self._letters("• ", manner)
        self.write(element.inside, manner.within(element, may_keep=self.may_keep))
        if self.text[-1]:
            self._turn()

    def _turn(self) -> None:
        self.text.append([])
        self.gap = Gap.NONE

    def _letters(self, text: str, manner: Manner) -> None:
        first, *others = GAP.split(text)
        if first:
            self._word(first, manner)
        for word in others:
            self.gap = Gap.FIRM if manner.is_whole and self.gap is not Gap.SOFT else Gap.SOFT
            if word:
                self._word(word, manner)

    def _word(self, word: str, manner: Manner) -> None:
        """At the end of the paragraph, or with the word before where nothing may part them."""
        line, gap = self.text[-1], self.gap
        self.gap = Gap.NONE
        starts = [*range(0, max(len(word) - (LONGEST - PIECE), 1), PIECE), len(word)]
        first, *others = [Piece(word[start:end], manner) for start, end in pairwise(starts)]
        if not line or gap is Gap.SOFT:
            line.append(Word([first], is_apart=bool(line)))
        else:
            between = [Piece(" ", manner)] if gap is Gap.FIRM else []
            line[-1] = line[-1].added([*between, first])
        line.extend(Word([piece], is_apart=False) for piece in others)


def _advance(word: Word) -> float:
    return word.width_pt + (_space(word).width_pt if word.is_apart else 0)


def _space(word: Word) -> Piece:
    """The space before a word; before a digest it is that of the words around it."""
    manner = word.pieces[0].manner
    return Piece(" ", replace(manner, face="plain") if manner.face == "mono" else manner)


@dataclass
class Line:
    pieces: list[Piece] = field(default_factory=list)
    width_pt: float = 0

    def take(self, word: Word) -> None:
        if word.is_apart and self.pieces:
            space = _space(word)
            self.pieces.append(space)
            self.width_pt += space.width_pt
        self.pieces.extend(word.pieces)
        self.width_pt += word.width_pt


def lines_of(text: Text, width_pt: float) -> Iterator[Line]:
    """The lines at that width: broken between words, and inside one that is wider than a line."""
    for words in text:
        line = Line()
        for word in chain.from_iterable(_fitting(whole, width_pt) for whole in words):
            space = _space(word).width_pt if word.is_apart else 0
            if line.pieces and line.width_pt + space + word.width_pt > width_pt + 0.01:
                yield line
                line = Line()
            line.take(word)
        yield line


def _fitting(word: Word, width_pt: float) -> Iterator[Word]:
    if word.width_pt <= width_pt + 0.01:
        yield word
        return
    taken: list[Piece] = []
    wide, is_apart = 0.0, word.is_apart
    for piece in (Piece(one, run.manner) for run in word.pieces for one in run.text):
        if taken and wide + piece.width_pt > width_pt:
            yield Word(taken, is_apart)
            taken, wide, is_apart = [], 0.0, False
        taken.append(piece)
        wide += piece.width_pt
    yield Word(taken, is_apart)
