"""What the address of a lot says: the kind of thing, the lot, and at times its date."""

import re
from datetime import date
from itertools import pairwise
from urllib.parse import unquote, urlsplit

from workshop.goods_in.epcis.validation import words
from workshop.rules.codes.gs1 import gs1_day, gtin_check_digit, parse_element_string
from workshop.rules.errors import RuleError

# A lot of a GTIN, or all of a GTIN whatever its serial number (GS1 EPC Tag Data Standard).
URN = re.compile(r"urn:epc:(class:lgtin|idpat:sgtin):([0-9]+)\.([0-9])([0-9]*)\.(.+)\Z", re.I)
GTIN = re.compile(r"[0-9]{8,14}\Z")


def named(address: str) -> tuple[str, str, date | None]:
    """The kind of thing and the lot in an address: a GS1 key, or another book's own words."""
    if found := URN.match(address):
        form, company, indicator, rest, lot = found.groups()
        body = f"{indicator}{company}{rest}"[:17]
        is_lot = form.lower() == "class:lgtin"
        return body + gtin_check_digit(body), words(unquote(lot)) if is_lot else "", None
    try:
        parts = parse_element_string(address)
    except RuleError:
        parts = {}
    if "01" in parts:
        day = parts.get("15") or parts.get("17")
        return parts["01"], parts.get("10", ""), gs1_day(day) if day else None
    return *_by_its_path(address), None


def _by_its_path(address: str) -> tuple[str, str]:
    steps = [words(unquote(part)) for part in re.split(r"[/:]", _path(address)) if part]
    after = dict(pairwise(steps))
    # Links that are not quite to the standard: a wrong check digit, a key of later years, or words.
    for kind, lot in (("01", "10"), ("gtin", "lot")):
        if GTIN.match(after.get(kind, "")):
            return after[kind], after.get(lot, "")
    return (steps[-2], steps[-1]) if len(steps) > 1 else (address, "")


def _path(address: str) -> str:
    try:
        return urlsplit(address).path
    except ValueError:  # brackets that hold no number of a machine
        return ""
