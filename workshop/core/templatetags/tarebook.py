"""Template tags and filters that every page uses."""

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django import template
from django.forms import BoundField
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core import formatting
from workshop.core.web import form_errors, pictograms
from workshop.rules.quantities.units import round_to

register = template.Library()

# Four kinds of state, each with a colour (by its class) and a shape of its own: what waits for
# somebody, what is allowed, what is stopped, and what is on its way by itself.
SHAPES = {
    "wait": "M8 1.8a6.2 6.2 0 1 0 .01 0zm0 2.2a4 4 0 1 1-.01 0zm0 2a2 2 0 1 0 .01 0z",
    "good": "M8 .8a7.2 7.2 0 1 0 .01 0zM3.9 8.3l1.4-1.4 1.6 1.6 3.9-4.1 1.4 1.3-5.3 5.6z",
    "stop": "M1 1v14h14V1zM4 6.8h8v2.4H4z",
    "way": "M1 2.5h8.2L15.4 8l-6.2 5.5H1L4.4 8z",
    "plain": "M2 7h12v2H2z",
}
KINDS = {
    "wait": "quarantine draft planned poured curing open assessed renewal_due on_rack"
    " conditional review_due weighing_due due_soon due not_noted not_reviewed_yet"
    " small_shortage no_search_recorded to_order",
    "good": "released approved arrived closed valid adds_up",
    "stop": "on_hold rejected taken_back expired abandoned refused suspended revoked"
    " large_shortage past_due more_than_there_can_be",
    "way": "under_way on_its_way taken_as_arrived ordered dispatched",
}
KIND_OF = {key: kind for kind, keys in KINDS.items() for key in keys.split()}


@register.filter
def quantity(value: Decimal | None, unit: str = "g") -> str:
    """Grams or pieces without the unit, which stands in the column's head."""
    return "" if value is None else formatting.quantity(value, unit)


@register.filter
def with_unit(value: Decimal | None, unit: str = "g") -> str:
    return "" if value is None else formatting.with_unit(value, unit)


@register.filter
def per_cent(value: Decimal) -> str:
    """A share of a hundred to two places, in one piece with its sign."""
    return f"{formatting.number(value, least=2, most=2)}{formatting.THIN}%"


@register.filter
def unbroken(words: object) -> str:
    """The words with no line ending between a figure and its unit."""
    return formatting.unbroken(str(words))


@register.filter
def number(value: Decimal | None, most: int = 4) -> str:
    return "" if value is None else formatting.number(Decimal(value), most=most)


@register.filter
def hundredths(value: Decimal | Fraction | int) -> str:
    """An exact figure to two places, halves to even."""
    return formatting.number(round_to(Fraction(value), Decimal("0.01")), least=2)


@register.filter
def hundredths_or_dash(value: Decimal | Fraction | int | None) -> str:
    return hundredths(value) if value is not None and value != "" else "–"


@register.filter
def percent(share: Decimal | Fraction | int) -> str:
    """An exact share as a percentage to two places."""
    return hundredths(Fraction(share) * 100)


@register.filter
def money(value: Decimal | None) -> str:
    return "" if value is None else formatting.number(value, least=2, most=2)


@register.filter
def day(value: date | None) -> str | SafeString:
    if value is None:
        return "–"
    return format_html('<time datetime="{}">{}</time>', value.isoformat(), formatting.day(value))


@register.filter
def without_stop(text: str) -> str:
    """What somebody typed, as part of a sentence that ends with a stop of its own."""
    return text.rstrip().removesuffix(".")


@register.filter
def moment(value: datetime | None) -> str | SafeString:
    if value is None:
        return "–"
    local = timezone.localtime(value).isoformat(timespec="seconds")
    return format_html('<time datetime="{}">{}</time>', local, formatting.moment(value))


@register.simple_tag
def state(key: str, word: str = "") -> SafeString:
    """A status as a word, a shape and a colour: {% state lot.status lot.get_status_display %}."""
    kind = KIND_OF.get(key.replace(" ", "_"), "plain")
    return format_html(
        '<span class="state {}">{}{}</span>', kind, shape(kind), word or key.replace("_", " ")
    )


@register.simple_tag
def shape(kind: str) -> SafeString:
    """The shape of a kind of state: {% shape "wait" %}; never without its word."""
    return format_html(
        '<svg viewBox="0 0 16 16" aria-hidden="true"><path fill-rule="evenodd" d="{}"/></svg>',
        SHAPES[kind],
    )


@register.inclusion_tag("core/_not_saved.html", takes_context=True)
def not_saved(context: dict[str, Any], *forms: Any) -> dict[str, Any]:
    """One tag above the forms of a page, with a link to each wrong field: {% not_saved form %}."""
    marked = form_errors.marked_fields(forms)
    is_saved = context.get("form_method", "post") != "get"
    return {
        "marked": marked,
        "sentences": form_errors.sentences(forms),
        "heading": form_errors.heading(len(marked), is_saved=is_saved),
    }


@register.simple_block_tag
def more(content: str, word: str = "More") -> SafeString | str:
    """What else may be done, folded away beside the one act: {% more %} links {% endmore %}.

    A disclosure of the browser's own, so that keys and screen readers know it and no script is
    needed; nothing at all where there is nothing else to do.
    """
    if not content.strip():
        return ""
    return format_html(
        '<details class="others"><summary class="btn">{}</summary>'
        '<div class="acts">{}</div></details>',
        word,
        SafeString(content),
    )


@register.filter
def marked(field: BoundField) -> SafeString:
    """The field alone, shown as wrong where it is: {{ form.name|marked }}."""
    kind = field.field.widget.attrs.get("class", "")
    return field.as_widget(attrs={"class": f"{kind} is-invalid".strip()} if field.errors else None)


@register.simple_tag
def pic(name: str, css: str = "pic") -> SafeString:
    """A pictogram, never without its word: {% pic "heat" %} hot melt."""
    return pictograms.pictogram(name, css)


@register.simple_tag
def kettle(filled_g: Decimal | None, room_g: Decimal, words: str, fill: str = "wax") -> SafeString:
    """A kettle filled as far as it is: {% kettle batch.taken_g kettle.capacity_g "half full" %}."""
    return pictograms.kettle(filled_g or Decimal(0), room_g, words, fill)


@register.simple_tag
def tins(number: int, words: str) -> SafeString:
    """Tins from above: {% tins 38 "38 tins" %}."""
    return pictograms.tins(number, words)


@register.simple_tag
def beam(done: Decimal, whole: Decimal, unit: str = "g") -> SafeString:
    """How far something is: {% beam batch.taken_g batch.target_g %}."""
    return pictograms.beam(done, whole, unit)


@register.simple_tag
def rack(bars: int, day: int, days: int, words: str) -> SafeString:
    """Bars over a rule of days: {% rack 40 32 42 "40 bars, day 32 of 42" %}."""
    return pictograms.rack(bars, day, days, words)


@register.simple_tag
def days_beam(day: int, days: int, words: str) -> SafeString:
    """How many days are over: {% days_beam 8 14 "day 8 of 14" %}."""
    return pictograms.days_beam(day, days, words)
