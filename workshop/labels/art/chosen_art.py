"""What a label wears: the art of its product, or the one drawn for it from the first minute."""

from workshop.core.models import Upload
from workshop.labels.art.artwork import Artwork, as_picture
from workshop.labels.art.drawing import Dress
from workshop.labels.art.gram_art import PALETTES, Look
from workshop.labels.models import Art, Placement
from workshop.packing.models import Product


def art_of(product: Product) -> Art:
    """The art that an owner chose, or the one drawn by the product's number and unit."""
    known: Art | None = getattr(product, "art", None)
    if known is not None:
        return known
    dark, middle, light = PALETTES[(product.pk or 0) % len(PALETTES)]
    kind = {"bar": "grain", "jar": "stem"}.get(product.unit_name, "petal")
    return Art(product=product, kind=kind, dark=dark, middle=middle, light=light)


def dress_of(product: Product, chosen: Art | None = None) -> Dress:
    """All that is drawn below the words of a product's labels, or would be with another art."""
    art = chosen or art_of(product)
    look = Look(art.kind, art.dark, art.middle, art.light, art.ground)
    is_ground = art.placement == Placement.GROUND
    return Dress(
        look,
        int(product.fill_g),
        _artwork(art.artwork, is_ground=is_ground),
        _artwork(art.back_artwork, is_ground=is_ground),
        _artwork(art.logo),
    )


def _artwork(upload: Upload | None, *, is_ground: bool = False) -> Artwork | None:
    if upload is None:
        return None
    with upload.file.open("rb") as file:
        content, kind = as_picture(file.read(), upload.content_type)
    return Artwork(content, kind, is_ground) if content else None
