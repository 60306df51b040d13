"""The list of products on the way to the file behind each."""

from django.urls import reverse

from workshop.core.lists.columns import CODE, NAME, Column, Name
from workshop.core.lists.listing import Listing, mentioning

FILES = Listing(
    columns=[
        Name(
            "Product",
            str,
            to=lambda product: reverse("dossier:file", args=[product.item.code]),
            order=("item__name",),
            place=CODE,
        ),
        Column(
            "Code",
            lambda product: product.item.code,
            order=("item__code",),
            place=f"code {NAME}",
        ),
    ],
    order=("item__name", "pk"),
    order_words="by name",
    none="There is no product yet.",
    search=mentioning("item__name", "item__code"),
    search_word="Product or code",
    file="product-files",
)
