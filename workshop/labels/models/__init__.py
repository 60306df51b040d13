"""What labels are made from, the versions an owner approved, and the label log."""

from workshop.labels.models.art import Art, ArtKind, Placement
from workshop.labels.models.designs import CodeKind, LabelDesign, OunceDecimals, Panel, SoapNaming
from workshop.labels.models.market_sheets import (
    ClaimAnswer,
    ClaimProof,
    MadeFor,
    MarketSheet,
    OwnName,
    Party,
    Phrase,
    ProductClass,
)
from workshop.labels.models.print_log import LabelCount, Print, PrintKind
from workshop.labels.models.rolls import Roll
from workshop.labels.models.sizes import Carries, OwnSize, Shape
from workshop.labels.models.versions import (
    DateStyle,
    Decision,
    DecisionKind,
    LabelVersion,
    LabelVersionQuerySet,
    VersionState,
)

__all__ = [
    "Art",
    "ArtKind",
    "Carries",
    "ClaimAnswer",
    "ClaimProof",
    "CodeKind",
    "DateStyle",
    "Decision",
    "DecisionKind",
    "LabelCount",
    "LabelDesign",
    "LabelVersion",
    "LabelVersionQuerySet",
    "MadeFor",
    "MarketSheet",
    "OunceDecimals",
    "OwnName",
    "OwnSize",
    "Panel",
    "Party",
    "Phrase",
    "Placement",
    "Print",
    "PrintKind",
    "ProductClass",
    "Roll",
    "Shape",
    "SoapNaming",
    "VersionState",
]
