"""What a material is: profile, parts of a blend, data sheet, use limit, organic status."""

from workshop.materials.models.data_sheets import AllergenContent, SoapValue, soap_value_of
from workshop.materials.models.organic import (
    LABEL_SCHEME,
    ListEntry,
    MaterialStatus,
    OrganicScheme,
    OrganicStatus,
)
from workshop.materials.models.profiles import (
    ALWAYS,
    NEVER_ORGANIC,
    BlendPart,
    Constituency,
    Profile,
    profile_of,
)
from workshop.materials.models.use_limits import UseLimit

__all__ = [
    "ALWAYS",
    "LABEL_SCHEME",
    "NEVER_ORGANIC",
    "AllergenContent",
    "BlendPart",
    "Constituency",
    "ListEntry",
    "MaterialStatus",
    "OrganicScheme",
    "OrganicStatus",
    "Profile",
    "SoapValue",
    "UseLimit",
    "profile_of",
    "soap_value_of",
]
