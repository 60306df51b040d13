"""What labels are made from, the versions an owner approved, and the label log."""

from workshop.labels.models.designs import CodeKind, LabelDesign, OunceDecimals, Panel, SoapNaming
from workshop.labels.models.print_log import LabelCount, Print, PrintKind
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
    "Carries",
    "CodeKind",
    "DateStyle",
    "Decision",
    "DecisionKind",
    "LabelCount",
    "LabelDesign",
    "LabelVersion",
    "LabelVersionQuerySet",
    "OunceDecimals",
    "OwnSize",
    "Panel",
    "Print",
    "PrintKind",
    "Shape",
    "SoapNaming",
    "VersionState",
]
