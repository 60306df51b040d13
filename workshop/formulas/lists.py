"""The lists of formulas and of what comes out of the kettle."""

from typing import Any

from django.db.models import Q
from django.urls import reverse
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.core.access import EVERYONE, OWNER
from workshop.core.lists.columns import CODE, NAME, STATE, Amount, Column, Day, Name, State
from workshop.core.lists.listing import Listing, Pick, mentioning
from workshop.core.templatetags.tarebook import moment, state
from workshop.formulas.models import Formula, Version
from workshop.ledger.models import Item


def _makes(formula: Formula) -> SafeString:
    return format_html('{} <span class="code">{}</span>', formula.item.name, formula.item.code)


def _approved(formula: Formula) -> str:
    return f"version {formula.approved_number}" if formula.approved_pk else "none"


def _approved_page(formula: Formula) -> str:
    pk = formula.approved_pk
    return reverse("formulas:version", args=[pk]) if pk else ""


def _since(formula: Formula) -> Any:
    return timezone.localtime(formula.approved_at).date() if formula.approved_at else None


def _states(formula: Formula) -> SafeString:
    """Whether it may be cooked by, and the draft that is being written beside it."""
    if not formula.is_active:
        standing = state("retired", "not in use")
    elif formula.approved_pk:
        standing = state("approved")
    elif formula.draft_pk:
        standing = SafeString("")
    else:
        standing = state("none", "nothing written yet")
    if not formula.draft_pk:
        return standing
    address = reverse("formulas:version", args=[formula.draft_pk])
    draft = state("draft", f"draft {formula.draft_number}")
    return format_html('{} <a class="nowrap" href="{}">{}</a>', standing, address, draft)


FORMULAS = Listing(
    columns=[
        Name(
            "Formula",
            lambda formula: formula.name,
            to=lambda formula: reverse("formulas:formula", args=[formula.pk]),
            order=("name",),
            place=CODE,
        ),
        Column("Makes", _makes, order=("item__name",)),
        Column("Approved version", _approved, to=_approved_page),
        Day("Since", _since, order=("approved_at",)),
        Column("State", _states, place=STATE),
    ],
    order=("name", "pk"),
    order_words="by name",
    none="There is no formula yet. Enter the bulk item it makes, then begin the formula.",
    search=mentioning("name", "item__name", "item__code"),
    search_word="Formula or bulk item",
    picks=[
        Pick("approved", "Approved", Q(is_active=True, approved_pk__isnull=False), "good"),
        Pick("draft", "With a draft", Q(draft_pk__isnull=False), "wait"),
        Pick("retired", "Not in use", Q(is_active=False), "plain"),
    ],
    file="formulas",
)


def _bulk_page(item: Item) -> str:
    return reverse("formulas:bulk", args=[item.pk])


def _formulas(item: Item) -> str | SafeString:
    links = [(reverse("formulas:formula", args=[one.pk]), one.name) for one in item.formulas.all()]
    return format_html_join(", ", '<a href="{}">{}</a>', links) if links else "none"


BULK_NAME: dict[str, Any] = {
    "head": "Bulk item",
    "value": lambda item: item.name,
    "order": ("name",),
    "place": CODE,
}
BULKS = Listing(
    columns=[
        Name(**BULK_NAME, to=_bulk_page, roles=tuple(OWNER)),
        Name(**BULK_NAME, roles=tuple(set(EVERYONE) - set(OWNER))),
        Column("Code", lambda item: item.code, order=("code",), place=f"code {NAME}"),
        Amount("On hand", lambda item: item.on_hand, order=("on_hand",)),
        Column("Formulas", _formulas),
        State(
            "State",
            lambda item: "in use" if item.is_active else "not in use",
            key_of=lambda item: "in_use" if item.is_active else "retired",
            order=("is_active",),
        ),
    ],
    order=("name", "pk"),
    order_words="by name",
    none="There is no bulk item yet.",
    search=mentioning("name", "code"),
    file="bulk-items",
)


def _begun(version: Version) -> SafeString:
    return format_html("{}, {}", moment(version.made_at), version.made_by)


def _approved_by(version: Version) -> str | SafeString:
    if not version.approved_by:
        return ""
    return format_html("{}, {}", moment(version.approved_at), version.approved_by)


VERSIONS = Listing(
    columns=[
        Name(
            "Version",
            lambda version: f"version {version.number}",
            to=lambda version: reverse("formulas:version", args=[version.pk]),
            order=("number",),
            place=CODE,
        ),
        State(
            "State",
            lambda version: version.get_status_display(),
            key_of=lambda version: version.status,
            order=("status",),
        ),
        Column("Begun", _begun),
        Column("Approved", _approved_by),
        Column("Note", lambda version: version.note),
    ],
    order=("-number",),
    order_words="newest first",
    none="Nothing is written yet.",
    search=mentioning("note"),
    search_word="Note",
    file="versions",
)
