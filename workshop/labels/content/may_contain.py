"""Colours that only some batches or shades hold, as a design lists them."""

from django.db.models import Q

from workshop.materials.models import BlendPart, Constituency, Profile
from workshop.rules.ingredients.composition import Constituent


def colour_text(colour: Constituent) -> str:
    """A colour as it is typed."""
    other = f" ({colour.common_name})" if colour.common_name else ""
    return colour.inci_name + other


def is_no_colour(inci_name: str) -> bool:
    """Whether a material or a part of a blend has this name and is something else."""
    something_else = Q(inci_name__iexact=inci_name) & ~Q(kind=Constituency.COLOURANT)
    profiles = Profile.objects.filter(Q(parts=None), something_else)
    return profiles.exists() or BlendPart.objects.filter(something_else).exists()
