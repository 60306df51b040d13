"""The list of inspector's packs that were made."""

from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import SafeString

from workshop.core.lists.columns import Column, Figure, Moment, Operation
from workshop.core.lists.listing import Listing, mentioning
from workshop.core.templatetags.tarebook import day
from workshop.organic.models import Pack


def _period(pack: Pack) -> SafeString:
    return format_html('{} to <span class="nowrap">{}</span>', day(pack.first), day(pack.last))


PACKS = Listing(
    columns=[
        Operation(
            "Pack",
            lambda pack: f"Pack {pack.pk}",
            to=lambda pack: reverse("organic:pack", args=[pack.pk]),
            order=("pk",),
        ),
        Column("Period", _period, order=("first",)),
        Moment("Made", lambda pack: pack.at, below=lambda pack: pack.by, order=("at",)),
        Figure("Files", lambda pack: pack.file_count),
        Column("SHA-256", lambda pack: pack.sha256, place="long"),
    ],
    order=("-pk",),
    order_words="newest first",
    none="None yet.",
    search=mentioning("sha256", "paper_sha256"),
    search_word="SHA-256",
    days="at",
    are_moments=True,
    days_word="Made from",
    file="packs",
)
