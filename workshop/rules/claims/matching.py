"""Words on a label that may make it a drug or mislead: found in all their forms."""

import re
import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache

from workshop.rules.claims import words_de, words_en, words_fr
from workshop.rules.claims.word_rules import (
    ONLY_BY_COMMON_CRITERIA,
    PARDONED_BY_LOOKS,
    RULES,
    Kind,
    Words,
)
from workshop.rules.markets.market_law import Law

_TABLES = {
    "en": (words_en.WORDS, words_en.LOOKS),
    "de": (words_de.WORDS, words_de.LOOKS),
    "fr": (words_fr.WORDS, words_fr.LOOKS),
}
# So many words before and after a promise may say that it is one of looks.
_NEAR = 4
_LEET = str.maketrans("013457@$!", "oleastasi")
_SENTENCE_END = re.compile(r"[;!?\n]+|\.+(?=\s|$)")
# In French a short word before a vowel, as in “l'eczéma”: what follows is a word of its own.
_ELIDED = re.compile(r"(?<=\b[ldjmnstc])['’](?=[aeiouhyàâæéèêëîïôûœ])|(?<=\bqu)['’](?=\w)")
_ANTI = re.compile(r"\banti\w+")
_ANTI_PASSES = re.compile(words_en.ANTI_PASSES)


@dataclass(frozen=True)
class FoundWord:
    """A word on a label that stops its approval: where, by which rule, what to say instead."""

    word: str
    sentence: str
    kind: Kind
    instead: str

    @property
    def rule(self) -> str:
        return RULES[self.kind]

    @property
    def told(self) -> str:
        """What a person reads."""
        other = f" Say for instance: {self.instead}." if self.instead else ""
        return f"“{self.word}” in “{self.sentence}” ({self.rule}).{other}"


def find_words(text: str, law: Law, languages: Sequence[str] = ("en",)) -> tuple[FoundWord, ...]:
    """Return the words of a label that stop its approval in a market until an owner answers.

    Inflected, hyphenated, accented and disguised forms are found; English is looked for beside
    the label's languages. That a list finds nothing proves nothing.

    Units, error: none. Source: the lists of words, each with its rule. Raises: nothing.

    >>> from workshop.rules.markets.laws import law_of
    >>> [one.word for one in find_words("Heals eczema and kills bacteria", law_of("US"))]
    ['heals', 'eczema', 'kills', 'bacteria']
    >>> find_words("Softens rough hands. Cured for six weeks.", law_of("US"))
    ()
    """
    found: dict[tuple[str, str], FoundWord] = {}
    for sentence in _SENTENCE_END.split(text):
        for word in _in_sentence(sentence.strip(), tuple(dict.fromkeys(("en", *languages)))):
            if word.kind in ONLY_BY_COMMON_CRITERIA and not law.has_common_criteria:
                continue
            found.setdefault((word.word, word.sentence), word)
    return tuple(found.values())


def _in_sentence(sentence: str, languages: Sequence[str]) -> Iterator[FoundWord]:
    plain = plain_words(sentence)
    hits: dict[int, tuple[str, Words]] = {}
    for language in languages:
        for rule in _compiled(language):
            for hit in rule.hits(plain):
                hits.setdefault(hit.start(), (hit.group().strip(), rule.words))
    for hit in _ANTI.finditer(plain):
        if not _ANTI_PASSES.match(hit.group()):
            hits.setdefault(hit.start(), (hit.group(), Words("disease", "", "leave it out")))
    for _, (word, words) in sorted(hits.items()):
        yield FoundWord(word, sentence, words.kind, words.instead)


@dataclass(frozen=True)
class _Compiled:
    """One row of a table as expressions."""

    words: Words
    stems: re.Pattern[str]
    unless: re.Pattern[str] | None
    looks: re.Pattern[str]

    def hits(self, plain: str) -> Iterator[re.Match[str]]:
        passed = [hit.span() for hit in self.unless.finditer(plain)] if self.unless else []
        may_look = self.words.kind in PARDONED_BY_LOOKS
        for hit in self.stems.finditer(plain):
            is_passed = any(start <= hit.start() < end for start, end in passed)
            if not is_passed and not (may_look and _is_looks(plain, hit, self.looks)):
                yield hit


def _is_looks(plain: str, hit: re.Match[str], looks: re.Pattern[str]) -> bool:
    """Whether words close by say that only looks or feel are promised."""
    before, after = plain[: hit.start()].split()[-_NEAR:], plain[hit.end() :].split()[:_NEAR]
    return any(looks.fullmatch(word) for word in (*before, *after))


@cache
def _compiled(language: str) -> tuple[_Compiled, ...]:
    words, looks = _TABLES.get(language, ((), "x"))
    return tuple(
        _Compiled(
            one,
            re.compile(rf"\b(?:{one.stems})\w*"),
            re.compile(rf"\b(?:{one.unless})\w*") if one.unless else None,
            re.compile(looks),
        )
        for one in words
    )


def plain_words(text: str) -> str:
    """Return a text as it is matched: small letters, single spaces, no marks, disguises undone.

    >>> plain_words("ANTI-bacterial, kill ge[r]ms, h3als")
    'antibacterial kill germs heals'
    """
    text = unicodedata.normalize("NFKC", text).casefold()
    text = re.sub("[\u00ad\u200b-\u200d\u2060]", "", text)
    text = re.sub(r"(?<=\w)\[(\w+)\](?=\w)", r"\1", text)
    text = _ELIDED.sub(" ", text)
    text = re.sub(r"(?<=\w)['’](?=\w)", "", text)
    text = re.sub(r"(?<=[^\W\d_])[@$!](?=[^\W\d_])", lambda hit: hit.group().translate(_LEET), text)
    text = re.sub(r"\b[^\W\d_]+\d[\w]*", lambda hit: _undone(hit.group()), text)
    text = re.sub(
        r"\b(?:[^\W\d_][ .\-_]){3,}[^\W\d_]\b", lambda hit: re.sub(r"\W|_", "", hit[0]), text
    )
    text = re.sub(r"\banti[\s‐-―-]+(?=\w)", "anti", text)
    return " ".join(re.sub(r"[^\w%]+|_", " ", text).split())


def _undone(word: str) -> str:
    """Figures inside a word taken for the letters they stand for; a true code stays."""
    return word.translate(_LEET) if re.search(r"\d[^\W\d]", word) else word
