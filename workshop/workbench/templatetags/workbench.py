"""What only the pages of the workbench draw."""

from django import template
from django.utils.safestring import SafeString

from workshop.workbench.gauges import sign

register = template.Library()


@register.simple_tag
def poise(*, hollow: bool = False) -> SafeString:
    """The sign of a column: hollow as it is, filled as tried; never without its word."""
    return sign(hollow=hollow)
