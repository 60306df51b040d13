"""The list of complaints, and that of how many came in each month."""

from collections.abc import Callable

from django.db.models import Q
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from workshop.aftersales.complaints.trends import Trend, TrendRow
from workshop.aftersales.models import Complaint, ComplaintState, Nature
from workshop.core.lists.columns import Column, Day, Figure, Name, Operation, State
from workshop.core.lists.listing import Choice, Listing, Pick
from workshop.core.templatetags.tarebook import state


def _lots(complaint: Complaint) -> str | SafeString:
    """The lots it names, or the code as it was read to us."""
    links = [
        (reverse("trace:lot", args=[lot.code]), lot.shown_code) for lot in complaint.lots.all()
    ]
    if not links:
        return complaint.code_read
    return format_html_join(" ", '<a class="lot" href="{}">{}</a>', links)


def _severity(complaint: Complaint) -> str | SafeString:
    word = complaint.get_severity_display()
    if not complaint.is_serious:
        return word
    return format_html("{} {}", word, state("rejected", "serious event"))


COMPLAINTS = Listing(
    columns=[
        Operation(
            "Complaint",
            str,
            to=lambda complaint: reverse("aftersales:complaint", args=[complaint.reference]),
            order=("reference",),
        ),
        Day("Received", lambda complaint: complaint.received_on, order=("received_on",)),
        Name(
            "Product",
            lambda complaint: complaint.product or "not known",
            order=("product__name",),
        ),
        Column("Lot", _lots),
        Column("Nature", lambda complaint: complaint.get_nature_display(), order=("nature",)),
        Column("Severity", _severity),
        Column("From", lambda complaint: complaint.customer, order=("customer__name",)),
        State(
            "State",
            lambda complaint: complaint.get_state_display(),
            key_of=lambda complaint: complaint.manner,
            order=("state",),
        ),
    ],
    order=("-received_on", "-pk"),
    order_words="newest first",
    none="No complaint has come in yet.",
    search=lambda rows, text: rows.mentioning(text),
    search_word="Words, code or customer",
    picks=[
        Pick(ComplaintState.OPEN, "Open", Q(state=ComplaintState.OPEN), "wait"),
        Pick(ComplaintState.ASSESSED, "Assessed", Q(state=ComplaintState.ASSESSED), "way"),
        Pick(ComplaintState.ANSWERED, "Answered", Q(state=ComplaintState.ANSWERED), "way"),
        Pick(ComplaintState.CLOSED, "Closed", Q(state=ComplaintState.CLOSED), "good"),
    ],
    choices=[Choice("nature", "Nature", Nature.choices, "any")],
    days="received_on",
    days_word="Received from",
    file="complaints",
)


def _of_month(place: int) -> Callable[[TrendRow], int | None]:
    """A month without any is left empty, so that the others are seen."""
    return lambda row: row.counts[place] or None


def trend_list(trend: Trend) -> Listing:
    """A row for each nature, product or lot, a column for each month."""
    months = [Figure(month, _of_month(place)) for place, month in enumerate(trend.months)]
    return Listing(
        columns=[
            Name("Complaints", lambda row: row.name, to=lambda row: row.address, place="c1"),
            *months,
            Figure("All", lambda row: row.total, place="c3"),
        ],
        order=(),
        order_words="most first",
        none="No complaint came in during these months.",
        search_word="Name",
        file="complaints-by-month",
    )
