"""Small pictures that say how much there is: pictograms, vessels, tins, a beam with its poise.

All drawn here, in the colours of the style sheet. Each has its words beside it on the page; what is
drawn to scale carries them for a screen reader as well.
"""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from math import cbrt, floor, log10

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.core import formatting

# On a grid of 24, lines of 1.7 with round ends.
PICTOGRAMS = {
    "heat": "M4 15.5h16M6 15.5l.8 4h10.4l.8-4M8 12c-1.6-1.7 1.6-2.9 0-4.6s1.6-2.9 0-4.6M12 "
    "12c-1.6-1.7 1.6-2.9 0-4.6s1.6-2.9 0-4.6M16 12c-1.6-1.7 1.6-2.9 0-4.6s1.6-2.9 0-4.6",
    "lye": "M5 4.5h7l5.5 2.2M6.5 4.5v3.2L3 10.5M12 4.7v3M17 10.2c1.5 1.9 2.2 3 2.2 4a2.2 2.2 0 0 "
    "1-4.4 0c0-1 .7-2.1 2.2-4zM2.5 20.5h5l1.5-2.6 2 2.6 2-2 1.7 2h6.8",
    "scent": "M9.5 9h5v2.2l2.5 2.3V20a1.5 1.5 0 0 1-1.5 1.5h-7A1.5 1.5 0 0 1 7 20v-6.5l2.5-2.3zM7 "
    "16h10M12 6.8V5.2M8.3 6.3 7.2 5M15.7 6.3 16.8 5M12 2.6v-.1M5.2 2.9l-.1-.1M18.8 "
    "2.9l.1-.1",
    "goggles": "M3 9.5a2 2 0 0 1 2-2h14a2 2 0 0 1 2 2v3a4 4 0 0 1-4 4c-2.6 0-3.2-2.7-5-2.7s-2.4 2.7"
    "-5 2.7a4 4 0 0 1-4-4zM3 10.5 1.2 9M21 10.5 22.8 9M6.3 11.8l1.9-1.9M14.3 11.8l1.9-1.9",
    "gloves": "M7 21v-6L5 11.5c-.7-1.3.8-2.3 1.7-1.2L8 12V4.7c0-1.5 2-1.5 2 0V10m0-5.8c0-1.6 2.1"
    "-1.6 2.1 0V10m0-4.8c0-1.5 2-1.5 2 0v5.3m0-3.3c0-1.4 1.9-1.4 1.9 0V15l-1.2 6zM7 18h8.3",
    "keep-dry": "M12 3c4 4.8 6 7.7 6 10.5a6 6 0 0 1-12 0C6 10.7 8 7.8 12 3zM4 21 20 4",
    "for-good": "M3 11l1.8 8.5h14.4L21 11M7 11.5c1.5 1.3 3 1.3 5 0s3.5-1.3 5 0M12 2.5v6M9.3 6"
    " 12 8.7 14.7 6",
    "scale": "M3.5 12h17L19 20H5zM5 9.5h14M12 9.5V12M9 16h6M9.5 9.5 8.7 5h6.6l-.8 4.5",
    "kettle": "M4 8h16l-1.2 10.2a2 2 0 0 1-2 1.8H7.2a2 2 0 0 1-2-1.8zM2.5 8h19M1.8 11.5h2.6M19.6 "
    "11.5h2.6",
    "rack": "M3.5 3v18M20.5 3v18M3.5 10h17M3.5 18h17M6 10V7h4v3M12 10V7h4v3M6 18v-3h4v3M12 "
    "18v-3h4v3",
    "tin": "M3 9.5v7c0 1.7 4 3 9 3s9-1.3 9-3v-7M3 8.5a9 3.5 0 1 0 18 0 9 3.5 0 1 0-18 0M3 12.3c0 "
    "1.7 4 3 9 3s9-1.3 9-3",
    "jar": "M6 3.5h12v4H6zM7 7.5 5.2 10v9A1.8 1.8 0 0 0 7 20.8h10a1.8 1.8 0 0 0 1.8-1.8v-9L17 "
    "7.5M5.2 12.5h13.6M5.2 17.2h13.6",
    "bar": "M2.5 11.5 8 7h13.5v6L16 17.5H2.5zM2.5 11.5H16L21.5 7M16 11.5v6M5.5 14.5h7",
    "tube": "M6 3.5h12l-2 13H8zM8 16.5h8M9.3 16.5v4h5.4v-4M7 6.2h10",
}
# A kettle from the side: its rim is wider than its floor, and so are its graduations above.
RIM_Y, FLOOR_Y, RIM, FLOOR, MIDDLE = 26.0, 176.0, 84.0, 73.0, 110.0
WALL = "M26 26L36 160Q38 176 54 176H166Q182 176 184 160L194 26"
FILLS = {"wax", "leaf", "oat"}
A_ROW, MOST_TINS = 10, 60
A_SHELF, MOST_BARS = 20, 40
STEPS = (1, 2, 5, 10)
MOST_NAMED = 0.8  # beyond it a figure would run into that of the whole


def pictogram(name: str, css: str = "pic") -> SafeString:
    """One of ours, by its name; hidden from screen readers, as its word stands beside it."""
    return format_html(
        '<svg class="{}" viewBox="0 0 24 24" aria-hidden="true"><path d="{}"/></svg>',
        css,
        PICTOGRAMS[name],
    )


def filled_height(share: float) -> float:
    """How far up a kettle stands what fills that share of its room: 0 the floor, 1 the rim.

    A kettle is a truncated cone, so half of its room reaches above half of its height.
    Source: the volume of a frustum, as in any table of formulae.

    >>> [round(filled_height(share), 3) for share in (0, 0.5, 1)]
    [0.0, 0.535, 1.0]
    """
    bounded = min(max(share, 0.0), 1.0)
    radius = cbrt(FLOOR**3 + bounded * (RIM**3 - FLOOR**3))
    return (radius - FLOOR) / (RIM - FLOOR)


def graduations(whole: float, most: int = 8) -> list[float]:
    """Round steps of 1, 2 or 5 within `whole`, at most so many.

    >>> graduations(2450)
    [500.0, 1000.0, 1500.0, 2000.0]
    """
    if whole <= 0:
        return []
    power = 10 ** floor(log10(whole / most))
    step = next(one * power for one in STEPS if one * power * most >= whole)
    return [float(step * number) for number in range(1, int(whole / step - 1e-9) + 1)]


def kettle(filled_g: Decimal, room_g: Decimal, words: str, fill: str = "wax") -> SafeString:
    """A kettle from the side, graduated in round grams and filled as far as it is."""
    share = float(filled_g / room_g) if room_g else 0.0
    level = _level(share)
    marks = format_html_join(
        "",
        '<path d="M{} {}h{}"/>',
        (
            (round(_wall_x(mark / float(room_g)) + 1, 1), _level(mark / float(room_g)), 14)
            for mark in graduations(float(room_g))
        ),
    )
    stuff = (
        format_html(
            '<path fill="var(--{})" d="{}"/><path d="M{} {}H{}"/>',
            fill if fill in FILLS else "wax",
            _stuff(level, share),
            round(_wall_x(share), 1),
            level,
            round(2 * MIDDLE - _wall_x(share), 1),
        )
        if share > 0
        else ""
    )
    return format_html(
        '<svg class="vessel" viewBox="0 0 220 186" role="img" aria-label="{}">'
        '<g stroke="var(--ink)" stroke-width="1.4" fill="none">{}{}</g>'
        '<g stroke="var(--ink)" stroke-width="2.6" fill="none" stroke-linejoin="round">'
        '<path d="{}M18 26H202M27 50H10v17h18M193 50h15v17h-18"/></g></svg>',
        words,
        stuff,
        marks,
        WALL,
    )


def _level(share: float) -> float:
    return round(FLOOR_Y - filled_height(share) * (FLOOR_Y - RIM_Y), 1)


def _wall_x(share: float) -> float:
    """Where the left wall is at the level of that share."""
    height = filled_height(share)
    return MIDDLE - (FLOOR + (RIM - FLOOR) * height)


def _stuff(level: float, share: float) -> str:
    """What is in it, with the round corners of the floor."""
    left = _wall_x(share)
    right = 2 * MIDDLE - left
    if level > 160:
        return f"M{left + 4:.1f} {level}Q42 176 54 176H166Q178 176 {right - 4:.1f} {level}Z"
    return f"M{left:.1f} {level}L36 160Q38 176 54 176H166Q182 176 184 160L{right:.1f} {level}Z"


def tins(number: int, words: str) -> SafeString:
    """Tins from above, ten a row; of very many the first sixty."""
    shown = min(number, MOST_TINS)
    rings = format_html_join(
        "",
        '<circle cx="{}" cy="{}" r="11"/><circle cx="{}" cy="{}" r="7.5" stroke="var(--edge)"/>',
        ((x, y, x, y) for x, y in _places(shown)),
    )
    height = 27 * -(-shown // A_ROW) + 4
    return format_html(
        '<svg class="vessel" viewBox="0 0 274 {}" role="img" aria-label="{}">'
        '<g fill="var(--sheet)" stroke="var(--ink)" stroke-width="1.4">{}</g></svg>',
        height,
        words,
        rings,
    )


def _places(number: int) -> Iterator[tuple[int, int]]:
    for place in range(number):
        yield 15 + 27 * (place % A_ROW), 15 + 27 * (place // A_ROW)


def beam(done: Decimal, whole: Decimal, unit: str = "g") -> SafeString:
    """How far something is, on a graduated beam: a poise hangs at the present value."""
    if whole <= 0:
        return SafeString("")
    share = min(max(float(done / whole), 0.0), 1.0)
    steps = graduations(float(whole), 5)
    figures = [(0.0, "0")] + [(step, formatting.number(Decimal(step))) for step in steps]
    ticks = format_html_join(
        "",
        '<line x1="{0}%" x2="{0}%" y1="13" y2="30" stroke="var(--ink)" stroke-width="1.4"/>'
        '<text x="{0}%" y="9" font-size="14" text-anchor="{1}" fill="var(--quiet)">{2}</text>',
        (
            (
                _percent(value / float(whole)),
                "middle" if value else "start",
                text if value / float(whole) < MOST_NAMED else "",
            )
            for value, text in figures
        ),
    )
    at = _percent(share)
    anchor = "start" if share < 0.2 else "end"
    now = formatting.with_unit(done, unit)
    return format_html(
        '<svg class="beam" height="58" role="img" aria-label="{now} of {whole}">'
        '<line x1="0" x2="100%" y1="22" y2="22" stroke="var(--ink)" stroke-width="2"/>'
        '<line x1="0" x2="{at}%" y1="22" y2="22" stroke="var(--main)" stroke-width="6"/>{ticks}'
        '<line x1="100%" x2="100%" y1="13" y2="30" stroke="var(--ink)" stroke-width="2"/>'
        '<text x="100%" y="9" font-size="14" font-weight="600" text-anchor="end">{whole}</text>'
        '<svg x="{at}%" y="25" overflow="visible">'
        '<path d="M0 0l4 5h4l4 11h-24l4-11h4z" fill="var(--main)"/>'
        '<text x="{dx}" y="15" font-size="15" font-weight="600" text-anchor="{anchor}">{now}</text>'
        "</svg></svg>",
        now=now,
        whole=formatting.with_unit(whole, unit),
        at=at,
        ticks=ticks,
        anchor=anchor,
        dx=17 if anchor == "start" else -17,
    )


def rack(bars: int, day: int, days: int, words: str) -> SafeString:
    """Bars on two shelves over a rule of days, with a poise at today: {% rack 40 32 42 "…" %}.

    Of very many bars the first forty are drawn.
    """
    shown = min(bars, MOST_BARS)
    stones = format_html_join(
        "",
        '<rect x="{}%" y="{}" width="3.84%" height="25" rx="2"/>',
        (
            (f"{2 + 4.8 * (place % A_SHELF):.2f}", 6 if place < A_SHELF else 40)
            for place in range(shown)
        ),
    )
    return format_html(
        '<svg class="beam" height="112" role="img" aria-label="{}">'
        '<g fill="var(--oat)" stroke="var(--ink)" stroke-width="1.1">{}</g>'
        '<g stroke="var(--ink)" stroke-width="1.8"><path d="M1 0V66"/>'
        '<line x1="100%" x2="100%" y2="66"/><line x2="100%" y1="32" y2="32"/></g>{}</svg>',
        words,
        stones,
        _days(day, days, 66),
    )


def days_beam(day: int, days: int, words: str) -> SafeString:
    """How many days of so many are over: {% days_beam 8 14 "…" %}."""
    return format_html(
        '<svg class="beam" height="44" role="img" aria-label="{}">{}</svg>',
        words,
        _days(day, days, 4),
    )


def _days(day: int, days: int, y: int) -> SafeString:
    """A rule of days with a tick a week, and a poise that hangs at today."""
    whole = max(days, 1)
    at = _percent(min(max(day / whole, 0.0), 1.0))
    ticks = format_html_join(
        "",
        '<line x1="{0}%" x2="{0}%" y1="{1}" y2="{2}"/>',
        ((_percent(week / whole), y, y + 8) for week in range(0, whole + 1, 7)),
    )
    return format_html(
        '<g stroke="var(--ink)"><line x2="100%" y1="{y}" y2="{y}" stroke-width="2"/>{ticks}'
        '<line x1="100%" x2="100%" y1="{y}" y2="{foot}"/></g>'
        '<line x2="{at}%" y1="{y}" y2="{y}" stroke="var(--main)" stroke-width="6"/>'
        '<svg x="{at}%" y="{low}" overflow="visible">'
        '<path d="M0 0l4 5h4l4 11h-24l4-11h4z" fill="var(--main)"/></svg>'
        '<text y="{words}" font-size="14" fill="var(--quiet)">0</text>'
        '<text x="100%" y="{words}" font-size="14" text-anchor="end" fill="var(--quiet)">'
        "{days} days</text>",
        y=y,
        foot=y + 8,
        low=y + 3,
        words=y + 34,
        at=at,
        ticks=ticks,
        days=days,
    )


def expiry_bar(used_up: float, expires: float, words: str) -> SafeString:
    """Stock on the rule of its column, both as shares of that rule: green until it is used up at
    the present pace, an upright line where it expires, hatched what will be left over."""
    used, end = (min(max(share, 0.0), 1.0) for share in (used_up, expires))
    over = (
        format_html(
            '<rect x="{}%" y="5" width="{}%" height="8" fill="var(--mind-wash)"'
            ' stroke="var(--mind)" stroke-dasharray="3 3"/>',
            _percent(end),
            _percent(used - end),
        )
        if used > end
        else ""
    )
    return format_html(
        '<svg class="beam bar" height="18" role="img" aria-label="{words}">'
        '<line x2="100%" y1="9" y2="9" stroke="var(--line)"/>'
        '<rect y="5" width="{green}%" height="8" fill="var(--main)"/>{over}'
        '<line x1="{end}%" x2="{end}%" y2="18" stroke="{ink}" stroke-width="3"/></svg>',
        words=words,
        green=_percent(min(used, end)),
        over=over,
        end=_percent(end),
        ink="var(--stop)" if used > end else "var(--ink)",
    )


def fills(values: Sequence[float], promised: float, least: float, words: str) -> SafeString:
    """Each pack that was weighed as a small stroke on one rule: what is allowed is a band from the
    least that a pack may hold, the label an upright line, and the average hangs as a poise."""
    low, high = min([*values, least]), max([*values, promised])
    margin = (high - low) / 12 or 1.0
    low, high = low - margin, high + margin

    def at(grams: float) -> str:
        return _percent((grams - low) / (high - low))

    strokes = format_html_join(
        "", '<line x1="{0}%" x2="{0}%" y1="8" y2="20"/>', ((at(one),) for one in values)
    )
    average = sum(values) / len(values)
    return format_html(
        '<svg class="beam" height="42" role="img" aria-label="{words}">'
        '<rect x="{least}%" y="6" width="{wide}%" height="16" fill="var(--leaf)"/>'
        '<line x2="100%" y1="22" y2="22" stroke="var(--ink)" stroke-width="2"/>'
        '<g stroke="var(--ink)" stroke-width="1.4">{strokes}</g>'
        '<line x1="{label}%" x2="{label}%" y2="30" stroke="var(--ink)" stroke-width="3"/>'
        '<svg x="{average}%" y="25" overflow="visible">'
        '<path d="M0 0l4 5h4l4 11h-24l4-11h4z" fill="{ink}"/></svg></svg>',
        words=words,
        least=at(least),
        wide=_percent((high - least) / (high - low)),
        strokes=strokes,
        label=at(promised),
        average=at(average),
        ink="var(--main)" if average >= promised else "var(--stop)",
    )


def _percent(share: float) -> str:
    return f"{100 * share:.2f}"
