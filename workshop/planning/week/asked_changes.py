"""What an address says was changed in a proposal, and the address of a proposal changed so."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any
from urllib.parse import urlencode

from workshop.core.forms import read_decimal
from workshop.planning.week.jobs import DAYS, Changes

MOST_CHANGES = 60
MOST_AMOUNT = 10_000_000
LONGEST_KEY = 40


@dataclass(frozen=True)
class Asked:
    """The changes that can be read, and what is wrong with the one just typed."""

    changes: Changes
    problem: str = ""
    key: str = ""
    typed: str = ""


def asked_changes(query: Any) -> Asked:
    """Read `day=key:2`, `amount=key:1500` and `without=key`, and the line just changed on top."""
    days = {
        key: int(value)
        for key, value in _pairs(query.getlist("day"))
        if value.isdecimal() and len(value) == 1 and int(value) < DAYS
    }
    amounts = {}
    for key, value in _pairs(query.getlist("amount")):
        try:
            amounts[key] = _amount(value)
        except ValueError:
            continue
    without = frozenset(key for key in query.getlist("without")[:MOST_CHANGES] if _is_key(key))
    asked = Asked(Changes(days, amounts, without))
    key = query.get("key", "")
    return _with_one(asked, key, query) if _is_key(key) else asked


def _with_one(asked: Asked, key: str, query: Any) -> Asked:
    changes = asked.changes
    if query.get("leave"):
        return replace(asked, changes=replace(changes, without=changes.without | {key}))
    to_day, typed = query.get("to_day", ""), query.get("to_amount", "").strip()
    if to_day.isdecimal() and len(to_day) == 1 and int(to_day) < DAYS:
        changes = replace(changes, days={**changes.days, key: int(to_day)})
    if not typed:
        return replace(asked, changes=changes)
    try:
        amount = _amount(typed, whole=key.startswith("p"))
    except ValueError as error:
        return replace(asked, changes=changes, problem=str(error), key=key, typed=typed)
    return replace(asked, changes=replace(changes, amounts={**changes.amounts, key: amount}))


def _amount(text: str, *, whole: bool = False) -> Decimal:
    number = read_decimal(text)
    if not 0 < number <= MOST_AMOUNT:
        raise ValueError("An amount is above nothing, and at most ten tonnes.")
    if number != round(number, 0 if whole else 3):
        raise ValueError("Units are whole." if whole else "Give at most 3 decimal places.")
    return number


def _pairs(texts: Iterable[str]) -> Iterable[tuple[str, str]]:
    for text in list(texts)[:MOST_CHANGES]:
        key, _, value = text.rpartition(":")
        if _is_key(key):
            yield key, value


def _is_key(text: str) -> bool:
    return 0 < len(text) <= LONGEST_KEY and text.isprintable()


def hidden(changes: Changes) -> list[tuple[str, str]]:
    """The changes as hidden fields of a form, or as parts of an address."""
    return [
        *(("day", f"{key}:{day}") for key, day in sorted(changes.days.items())),
        *(("amount", f"{key}:{value:f}") for key, value in sorted(changes.amounts.items())),
        *(("without", key) for key in sorted(changes.without)),
    ]


def address(monday: date, changes: Changes) -> str:
    """The part of an address after its question mark."""
    return urlencode([("week", monday.isoformat()), *hidden(changes)])


def without_change(changes: Changes, key: str) -> Changes:
    """The changes without those of one line."""
    return Changes(
        {one: day for one, day in changes.days.items() if one != key},
        {one: amount for one, amount in changes.amounts.items() if one != key},
        changes.without - {key},
    )


def item_in(key: str) -> int | None:
    """The item that the key of a line is about."""
    number = key[1:].partition("-")[0]
    return int(number) if number.isdecimal() and len(number) < 18 else None


def usual_monday(today: date, days: str) -> date:
    """The Monday of the week to look at: this one while it still has a day of work."""
    monday = today - timedelta(days=today.weekday())
    return monday if "1" in days[today.weekday() :] else monday + timedelta(days=DAYS)
