"""The standard's rules of pairs, as the tests hold element strings against them.

Source: GS1 General Specifications, section 4.14 (mandatory and invalid pairs), in the form of the
GS1 Barcode Syntax Dictionary: `req` and `ex` of each identifier. Written down here apart from the
product's own table.
"""

import re

# Identifier -> what must be beside it: one of these sets, each whole.
_OF_AN_ITEM = "01,02,03,8006,8026"
REQ = {
    "02": "37",
    "10": _OF_AN_ITEM,
    "11": _OF_AN_ITEM,
    "13": _OF_AN_ITEM,
    "15": _OF_AN_ITEM,
    "16": _OF_AN_ITEM,
    "17": "01,02,03,255,8006,8026",
    "20": _OF_AN_ITEM,
    "21": "01,03,8006",
    "22": "01",
    "240": _OF_AN_ITEM,
    "30": "01,02",
    "37": "00+02,00+8026",
    "310n": "01,02",
    "320n": "01,02",
}
# Identifier -> what must not be beside it.
EX = {"01": "255,37", "02": "01,03", "21": "235", "310n": "310n", "320n": "320n"}


def identifiers(human: str) -> list[str]:
    """The identifiers of an element string as people read it."""
    return re.findall(r"\(([0-9]{2,4})\)", human)


def wrong_pairs(ais: list[str]) -> list[str]:
    """Every rule that these identifiers break together."""
    return [*_missing(ais), *_forbidden(ais)]


def _missing(ais: list[str]) -> list[str]:
    have = set(ais)
    found = []
    for ai in ais:
        asked = REQ.get(_family(ai))
        if asked and not any(have.issuperset(one.split("+")) for one in asked.split(",")):
            found.append(f"({ai}) without {asked}")
    return found


def _forbidden(ais: list[str]) -> list[str]:
    found = []
    for at, ai in enumerate(ais):
        others = {_family(other) for other in ais[:at] + ais[at + 1 :]}
        found += [f"({ai}) with {ex}" for ex in EX.get(_family(ai), "").split(",") if ex in others]
    return found


def _family(ai: str) -> str:
    return f"{ai[:3]}n" if ai[:3] in ("310", "320") else ai
