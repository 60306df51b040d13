"""A figure as approved and as tried, hung as two poises on one beam."""

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.core.formatting import number
from workshop.rules.quantities.units import round_to

POISE = "M0 0 3.3 5h2.9L10 16H-10L-6.2 5h2.9z"
HOLLOW = 'fill="var(--ground)" stroke="var(--ink)" stroke-width="1.3"'
FILLED = 'fill="var(--main)"'
ROOM = Fraction(1, 2)


def gauge(
    was: Fraction | None, now: Fraction | None, *, limits: Sequence[Fraction] = (), unit: str = ""
) -> SafeString:
    """A beam of round steps around the two figures, with the range that is allowed as a leaf bar.

    Hidden from screen readers: the figures stand beside it.
    """
    values = [one for one in (was, now) if one is not None]
    if not values:
        return SafeString("")
    low, high = _ends([*values, *limits])
    marks = format_html_join(
        "",
        '<line x1="{0}%" x2="{0}%" y1="13" y2="30" stroke="var(--ink)" stroke-width="1.6"/>'
        '<text x="{0}%" y="10" font-size="13" text-anchor="middle">{1}{2}</text>',
        ((_at(one, low, high), _figure(one), unit) for one in limits),
    )
    bar = ""
    if len(limits) == 2:
        first, last = (_at(one, low, high) for one in limits)
        bar = format_html(
            '<rect x="{}%" width="{}%" y="16" height="8" fill="var(--leaf)"/>',
            first,
            f"{float(last) - float(first):.2f}",
        )
    return format_html(
        '<svg class="gauge-beam" height="50" aria-hidden="true">'
        '<line x1="0" x2="100%" y1="24" y2="24" stroke="var(--ink)" stroke-width="1.6"/>'
        "{}{}{}{}{}</svg>",
        _ticks(),
        bar,
        marks,
        _poise(was, low, high, HOLLOW),
        _poise(now, low, high, FILLED),
    )


def _ends(values: Sequence[Fraction]) -> tuple[Fraction, Fraction]:
    """A stretch that holds them all with room at both ends, never below nought for what is not."""
    least, most = min(values), max(values)
    room = max((most - least) * ROOM, abs(most) / 20, Fraction(1, 1000))
    low = least - room
    return (max(low, Fraction()) if least >= 0 else low), most + room


def _ticks() -> SafeString:
    """A short tick at each twentieth, a long one at each quarter."""
    return format_html_join(
        "",
        '<line x1="{0}%" x2="{0}%" y1="24" y2="{1}" stroke="var(--{2})"/>',
        (
            (5 * place, 31 if place % 5 == 0 else 28, "ink" if place % 5 == 0 else "edge")
            for place in range(21)
        ),
    )


def _poise(value: Fraction | None, low: Fraction, high: Fraction, paint: str) -> SafeString:
    if value is None:
        return SafeString("")
    return format_html(
        '<svg x="{}%" y="27" width="1" height="1" overflow="visible"><path d="{}" {}/></svg>',
        _at(value, low, high),
        POISE,
        SafeString(paint),
    )


def _at(value: Fraction, low: Fraction, high: Fraction) -> str:
    return f"{float(100 * (value - low) / (high - low)):.2f}"


def _figure(value: Fraction) -> str:
    return number(round_to(value, Decimal("0.0001")), most=4)


def sign(*, hollow: bool) -> SafeString:
    """A poise by itself, for the heads of columns."""
    return format_html(
        '<svg width="20" height="16" viewBox="-10 0 20 17" aria-hidden="true">'
        '<path d="{}" {}/></svg>',
        POISE,
        SafeString(HOLLOW if hollow else FILLED),
    )
