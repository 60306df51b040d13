"""Template tags and filters that every page uses."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core import formatting

register = template.Library()

# A shape beside every word, so that no status depends on colour.
SHAPES = {
    "good": "M2 7.5l3.5 3.5L12 3.5",
    "wait": "M7 1.5a5.5 5.5 0 1 0 .01 0M7 4v3.5l2.5 1.5",
    "mind": "M7 1.5l6 11H1z",
    "stop": "M2.5 2.5l9 9M11.5 2.5l-9 9",
    "plain": "M2 7h10",
}
MANNERS = {
    "released": "good",
    "approved": "good",
    "arrived": "good",
    "closed": "good",
    "valid": "good",
    "quarantine": "wait",
    "draft": "wait",
    "planned": "wait",
    "under_way": "wait",
    "on_its_way": "wait",
    "poured": "wait",
    "on_hold": "mind",
    "taken_as_arrived": "mind",
    "renewal due": "mind",
    "rejected": "stop",
    "taken_back": "stop",
    "expired": "stop",
    "abandoned": "stop",
}


@register.filter
def quantity(value: Decimal | None, unit: str = "g") -> str:
    """Grams or pieces without the unit, which stands in the column's head."""
    return "" if value is None else formatting.quantity(value, unit)


@register.filter
def with_unit(value: Decimal | None, unit: str = "g") -> str:
    return "" if value is None else formatting.with_unit(value, unit)


@register.filter
def number(value: Decimal | None, most: int = 4) -> str:
    return "" if value is None else formatting.number(Decimal(value), most=most)


@register.filter
def money(value: Decimal | None) -> str:
    return "" if value is None else formatting.number(value, least=2, most=2)


@register.filter
def day(value: date | None) -> str | SafeString:
    if value is None:
        return "–"
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), formatting.day(value))


@register.filter
def moment(value: datetime | None) -> str | SafeString:
    if value is None:
        return "–"
    local = timezone.localtime(value).isoformat(timespec="seconds")
    return format_html('<time datetime="{}">{}</time>', local, formatting.moment(value))


@register.simple_tag
def state(key: str, word: str = "") -> SafeString:
    """A status as a word, a shape and a colour: {% state lot.status lot.get_status_display %}."""
    manner = MANNERS.get(key, "plain")
    return format_html(
        '<span class="state {}"><svg viewBox="0 0 14 14" aria-hidden="true"><path d="{}"/></svg>'
        "{}</span>",
        manner,
        SHAPES[manner],
        word or key.replace("_", " "),
    )


@register.simple_tag(takes_context=True)
def page_address(context: dict[str, Any], page: int) -> str:
    """The present address with another page number."""
    query = context["request"].GET.copy()
    query["page"] = str(page)
    return f"?{query.urlencode()}"
