"""What the database refuses of approved labels (a new column is listed here) and of their log."""

from workshop.core.database.triggers import Trigger, append_only

SENTENCE = "An approved label stays as it was approved; make a new version."

_NEVER_EMPTY = (
    "product_id", "market", "number", "name", "identity", "languages", "organic_statement",
    "claim", "responsible",
    "made_with", "entries", "claims", "may_contain", "directions", "cautions",
    "maker", "certifier_line", "net_contents", "net_ounces", "net_g", "date_style", "has_hourglass",
    "gtin", "reason", "made_at", "made_by_id", "approved_at", "approved_by_id",
)  # fmt: skip
_MAY_BE_EMPTY = (
    "made_from_id", "formula_version_id", "organic_percent", "keeps_months", "opened_months",
)  # fmt: skip


def _changed() -> str:
    plain = [f"NEW.{name} <> OLD.{name}" for name in _NEVER_EMPTY]
    empty = [f"COALESCE(NEW.{name}, -1) <> COALESCE(OLD.{name}, -1)" for name in _MAY_BE_EMPTY]
    day = "COALESCE(NEW.fixed_date, '1900-01-01') <> COALESCE(OLD.fixed_date, '1900-01-01')"
    return " OR ".join([*plain, *empty, day])


GUARDS = [
    *append_only("labels_print"),
    *append_only("labels_decision"),
    *append_only("labels_labelcount"),
    *append_only("labels_claimproof"),
    *append_only("labels_claimanswer"),
    *append_only("labels_roll"),
    Trigger(
        "labels_version_stays_itself",
        "labels_labelversion",
        "UPDATE",
        "OLD.state <> 'draft' AND (NEW.state = 'draft' OR (OLD.state = 'retired' AND"
        f" NEW.state <> 'retired') OR {_changed()})",
        SENTENCE,
    ),
    Trigger(
        "labels_version_no_delete",
        "labels_labelversion",
        "DELETE",
        "OLD.state <> 'draft'",
        "An approved label is kept for ever.",
    ),
]
