"""The symbols that the law offers in place of words, drawn by us: open jar and hourglass.

Source: Regulation (EC) 1223/2009, article 19(1)(c) and Annex VII, points 2 and 3: an open jar, and
an hourglass before the date. The Annex shows them; the outlines here are our own.
"""

from django.utils.html import escape
from django.utils.safestring import SafeString, mark_safe

from workshop.labels.content.dated_lines import HOURGLASS

# Two bulbs between two boards, the lower with what ran through.
_HOURGLASS = (
    '<svg class="hourglass" viewBox="0 0 12 14">'
    '<path d="M1 1h10M1 13h10M2.5 1v2.2q0 2 3 3.8q-3 1.8 -3 3.8v2.2'
    'M9.5 1v2.2q0 2 -3 3.8q3 1.8 3 3.8v2.2" fill="none" stroke="#000" stroke-width=".9"/>'
    '<path d="M3.5 13q0 -2.2 2.5 -3q2.5 .8 2.5 3z"/></svg>'
)


def dated(line: str) -> SafeString:
    """A line with its hourglass drawn, where it has one."""
    whole = escape(line).replace(HOURGLASS, _HOURGLASS)
    return mark_safe(whole)  # noqa: S308 -- escaped, and the drawing is our own
