"""What the database refuses of a version that is no longer a draft: a new column is listed here."""

# ruff: noqa: S608 -- the SQL is put together from the constants in this file alone

from workshop.core.database.triggers import Event, Trigger

SENTENCE = "Only a draft may change; make a new version."


def _not_draft(version: str) -> str:
    return f"EXISTS (SELECT 1 FROM formulas_version WHERE id = {version} AND status <> 'draft')"


def _only_in_drafts(table: str, old: str, new: str) -> list[Trigger]:
    rows: list[tuple[Event, str]] = [
        ("INSERT", _not_draft(new)),
        ("UPDATE", f"{_not_draft(new)} OR {_not_draft(old)}"),
        ("DELETE", _not_draft(old)),
    ]
    return [
        Trigger(f"{table}_{event.lower()}_in_draft", table, event, condition, SENTENCE)
        for event, condition in rows
    ]


def _version_of_line(row: str) -> str:
    return f"(SELECT version_id FROM formulas_line WHERE id = {row}.line_id)"


def _other(column: str) -> str:
    return f"COALESCE(NEW.{column}, -1) <> COALESCE(OLD.{column}, -1)"


GUARDS = [
    *_only_in_drafts("formulas_line", "OLD.version_id", "NEW.version_id"),
    *_only_in_drafts("formulas_step", "OLD.version_id", "NEW.version_id"),
    *_only_in_drafts("formulas_line_substitutes", _version_of_line("OLD"), _version_of_line("NEW")),
    Trigger(
        "formulas_version_stays_itself",
        "formulas_version",
        "UPDATE",
        "OLD.status <> 'draft' AND (NEW.status = 'draft' OR NEW.formula_id <> OLD.formula_id"
        " OR NEW.number <> OLD.number OR NEW.expected_loss <> OLD.expected_loss"
        " OR NEW.shelf_life_months <> OLD.shelf_life_months"
        " OR COALESCE(NEW.cure_days, -1) <> COALESCE(OLD.cure_days, -1)"
        f" OR {_other('cure_loss')} OR {_other('weekly_loss_most')} OR {_other('ph_least')}"
        f" OR {_other('ph_most')} OR {_other('free_alkali_most')}"
        " OR NEW.rework_limit <> OLD.rework_limit OR NEW.claims_organic <> OLD.claims_organic"
        " OR NEW.is_rinse_off <> OLD.is_rinse_off OR NEW.note <> OLD.note"
        " OR NEW.made_at <> OLD.made_at OR NEW.made_by_id <> OLD.made_by_id"
        " OR NEW.approved_at <> OLD.approved_at OR NEW.approved_by_id <> OLD.approved_by_id)",
        SENTENCE,
    ),
    Trigger(
        "formulas_version_no_delete",
        "formulas_version",
        "DELETE",
        "OLD.status <> 'draft'",
        "An approved version is kept for ever.",
    ),
]
