"""What a material is: its profile, the parts of a blend, its data sheet, its use limit."""

from workshop.materials.models.data_sheets import AllergenContent, SoapValue, soap_value_of
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
    "NEVER_ORGANIC",
    "AllergenContent",
    "BlendPart",
    "Constituency",
    "Profile",
    "SoapValue",
    "UseLimit",
    "profile_of",
    "soap_value_of",
]
