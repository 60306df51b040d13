"""What the law of the workshop's own market adds to a sentence of a page."""

from django import template

from workshop.core.models import Workshop
from workshop.rules.markets.laws import law_of

register = template.Library()


@register.simple_tag
def recall_terms() -> str:
    """The rule that the terms of a recall come from, in brackets, where the market has one."""
    workshop = Workshop.objects.first()
    return law_of(workshop.market).recall_terms if workshop else ""
