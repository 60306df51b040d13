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
_NAMES = {"en": words_en.NAMES, "de": words_de.NAMES, "fr": words_fr.NAMES}
# How a caution begins, and what makes it a promise all the same.
_CAUTIONS = {
    "en": (words_en.CAUTION, words_en.PROMISE),
    "de": (words_de.CAUTION, words_de.PROMISE),
    "fr": (words_fr.CAUTION, words_fr.PROMISE),
}
# Words of another language that only look like an English one that stops.
_ORDINARY = {"de": words_de.ORDINARY, "fr": words_fr.ORDINARY}
_UMLAUTS = str.maketrans({"ä": "ae?", "ö": "oe?", "ü": "ue?", "ß": "ss"})
# Letters of Greek and Cyrillic that look like a Latin one; Unicode Technical Standard 39 lists
# such pairs, these are from memory.
_LOOK_ALIKE = str.maketrans(
    "АВЕЅІЈКМНОРСТУХҮԚԜԌаеѕіјкмнорстухүԁԛԝһѵԍΑΒΕΖΗΙΚΜΝΟΡΤΥΧαβεικνορτυχη",
    "ABESIJKMHOPCTYXYQWGaesijkmhopctyxydqwhvgABEZHIKMNOPTYXabeikvoptuxn",
)
_FOREIGN_WORD = re.compile(r"\w*[\u0370-\u052f]\w*")
_LATIN = re.compile(r"[a-zA-Z]")
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
    spoken = tuple(dict.fromkeys(("en", *languages)))
    found = {(each.word, each.sentence): each for each in _in_text(text, law, spoken)}
    said = {each.word for each in found.values()}
    for each in _in_text(_run_on(text), law, spoken):
        if not any(word in each.word for word in said):
            found.setdefault((each.word, each.sentence), each)
    return tuple(found.values())


def _run_on(text: str) -> str:
    """The text with no line broken: what is hyphenated at an end or goes on below is one."""
    return re.sub(r"\s*\n\s*", " ", re.sub(r"(?<=\w)[-\u2010]\s*\n\s*(?=\w)", "", text))


def _in_text(text: str, law: Law, languages: Sequence[str]) -> Iterator[FoundWord]:
    for sentence in _SENTENCE_END.split(text):
        for word in _in_sentence(sentence.strip(), languages):
            if word.kind not in ONLY_BY_COMMON_CRITERIA or law.has_common_criteria:
                yield word


def _in_sentence(sentence: str, languages: Sequence[str]) -> Iterator[FoundWord]:
    plain = plain_words(sentence)
    bare = _without_marks(plain)
    if any(_is_caution(bare, language) for language in languages):
        return
    named = [hit.span() for each in languages for hit in _names(each).finditer(bare)]
    for start, (word, words) in sorted(_hits(plain, bare, languages).items()):
        if not any(begin <= start < end for begin, end in named):
            yield FoundWord(word, sentence, words.kind, words.instead)


def _hits(plain: str, bare: str, languages: Sequence[str]) -> dict[int, tuple[str, Words]]:
    """The words that stop, by where they begin."""
    hits: dict[int, tuple[str, Words]] = {}
    for language in languages:
        # A mark tells many a word of another language from an English one.
        searched = plain if language == "en" and len(languages) > 1 else bare
        for rule in _compiled(language):
            for hit in rule.hits(searched):
                word = plain[hit.start() : hit.end()].strip()
                if language != "en" or not _is_ordinary(word, languages):
                    hits.setdefault(hit.start(), (word, rule.words))
    for hit in _ANTI.finditer(plain):
        if not _ANTI_PASSES.match(hit.group()):
            hits.setdefault(hit.start(), (hit.group(), Words("disease", "", "leave it out")))
    return hits


def _is_caution(bare: str, language: str) -> bool:
    """Whether a sentence says only when not to use it: what it names there is not promised."""
    caution, promise = _cautions(language)
    found = caution.match(bare) if caution else None
    return found is not None and promise is not None and not promise.search(bare, found.end())


@cache
def _names(language: str) -> re.Pattern[str]:
    """The names of plants and earths in a language; of another that there are none."""
    names = _NAMES.get(language)
    return re.compile(rf"\b(?:{_spelt(names, language)})\w*" if names else r"(?!)")


@cache
def _cautions(language: str) -> tuple[re.Pattern[str] | None, re.Pattern[str] | None]:
    if language not in _CAUTIONS:
        return None, None
    caution, promise = (_spelt(one, language) for one in _CAUTIONS[language])
    return re.compile(caution), re.compile(rf"\b{promise}")


def _is_ordinary(word: str, languages: Sequence[str]) -> bool:
    return any(re.fullmatch(_ORDINARY[each], word) for each in languages if each in _ORDINARY)


def _without_marks(text: str) -> str:
    """Each letter without its accent; as long as before."""
    return "".join(unicodedata.normalize("NFD", letter)[0] for letter in text)


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
            re.compile(rf"\b(?:{_spelt(one.stems, language)})\w*"),
            re.compile(rf"\b(?:{_spelt(one.unless, language)})\w*") if one.unless else None,
            re.compile(_spelt(looks, language)),
        )
        for one in words
    )


def _spelt(stems: str, language: str) -> str:
    """Stems as they are matched: without accents, German ones also with ae, oe, ue for them."""
    return _without_marks(stems.translate(_UMLAUTS) if language == "de" else stems)


def plain_words(text: str) -> str:
    """Return a text as it is matched: small letters, single spaces, no marks, disguises undone.

    >>> plain_words("ANTI-bacterial, kill ge[r]ms, h3als")
    'antibacterial kill germs heals'
    >>> plain_words("h\u0435als, \u0430\u0441ne")  # two words with Cyrillic letters
    'heals acne'
    """
    text = _FOREIGN_WORD.sub(_in_latin, unicodedata.normalize("NFKC", text)).casefold()
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


def _in_latin(hit: re.Match[str]) -> str:
    """A word that mixes alphabets, or has none but look-alikes, as it is read; others stay."""
    read = hit.group().translate(_LOOK_ALIKE)
    is_mixed = bool(_LATIN.search(hit.group())) or not _FOREIGN_WORD.search(read)
    return read if is_mixed else hit.group()


def _undone(word: str) -> str:
    """Figures inside a word taken for the letters they stand for; a true code stays."""
    return word.translate(_LEET) if re.search(r"\d[^\W\d]", word) else word
