"""The change log: who changed what of the master data."""

from collections.abc import Iterable
from dataclasses import replace

from django.template.loader import render_to_string
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.audit.change_log import KINDS, LoggedChange, entries
from workshop.core.lists.columns import FLAT, Column, Moment, Time
from workshop.core.lists.listing import Choice, Listing
from workshop.core.models import User
from workshop.goods_in.lists import CERTIFICATES


def _what(entry: LoggedChange) -> SafeString:
    return format_html("{} <strong>{}</strong> {}", entry.kind, entry.about, entry.act)


def _fields(entry: LoggedChange) -> SafeString:
    return SafeString(render_to_string("audit/_changes.html", {"entry": entry}).strip())


CHANGES = Listing(
    columns=[
        Time("At", lambda entry: entry.at, place="c1"),
        Moment("When", lambda entry: entry.at, only=FLAT),
        Column("Who", lambda entry: entry.by),
        Column("What", _what, place="words"),
        Column("Changed from → to", _fields, place="words"),
    ],
    order=("-history_date", "kind_key", "-history_id"),
    order_words="newest first",
    none="Nothing was ever changed.",
    days="history_date",
    are_moments=True,
    days_word="Changed from",
    log=lambda entry: entry.at,
    told=entries,
    is_narrowed_before=True,
    file="change-log",
)


RUNNING_OUT = replace(
    CERTIFICATES,
    order=("valid_to", "number"),
    order_words="first to end first",
    none="None.",
    picks=(),
    file="certificates-running-out",
)


def change_list(people: Iterable[User]) -> Listing:
    """The list, with the people there are to ask for."""
    return replace(
        CHANGES,
        choices=[
            Choice("kind", "Kind", [(key, one.word) for key, one in KINDS.items()], "all kinds"),
            Choice(
                "person", "Changed by", [(str(one.pk), str(one)) for one in people], "everybody"
            ),
        ],
    )
