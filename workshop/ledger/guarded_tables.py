"""What the database refuses in the ledger; a new column of an operation or a lot is listed here."""

# ruff: noqa: S608 -- the SQL is put together from the constants in this file alone

from workshop.core.database.triggers import Trigger, append_only, behind_closed


def _day(column: str) -> str:
    return f"COALESCE(CAST({column} AS text), '')"


GUARDS = [
    *append_only("ledger_posting"),
    *append_only("ledger_statuschange"),
    *append_only("ledger_datechange"),
    *append_only("ledger_amendment"),
    *append_only("ledger_correction"),
    Trigger(
        "ledger_correction_while_open",
        "ledger_correction",
        "INSERT",
        "EXISTS (SELECT 1 FROM ledger_amendment AS amended JOIN ledger_operation AS operation"
        " ON operation.id = amended.operation_id WHERE amended.id = NEW.amendment_id"
        " AND operation.closed_at IS NOT NULL)",
        "A closed record is corrected only while an amendment holds it open.",
    ),
    *append_only("ledger_seal"),
    Trigger(
        "ledger_posting_into_closed",
        "ledger_posting",
        "INSERT",
        "EXISTS (SELECT 1 FROM ledger_operation WHERE id = NEW.operation_id"
        " AND closed_at IS NOT NULL)",
        "This operation is closed; nothing can be posted into it.",
    ),
    Trigger(
        "ledger_posting_reversal_fits",
        "ledger_posting",
        "INSERT",
        "NEW.corrects_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_posting AS first"
        " WHERE first.id = NEW.corrects_id AND first.corrects_id IS NULL"
        " AND first.operation_id = NEW.operation_id AND first.lot_id = NEW.lot_id"
        " AND first.side = NEW.side AND first.quantity = -NEW.quantity)",
        "A reversal takes back one posting whole: same lot, same operation, opposite quantity.",
    ),
    Trigger(
        "ledger_operation_no_delete",
        "ledger_operation",
        "DELETE",
        "1 = 1",
        "An operation is never removed.",
    ),
    Trigger(
        "ledger_operation_stays_itself",
        "ledger_operation",
        "UPDATE",
        "NEW.kind <> OLD.kind OR NEW.reference <> OLD.reference OR NEW.token <> OLD.token"
        " OR NEW.opened_at <> OLD.opened_at OR NEW.opened_by_id <> OLD.opened_by_id",
        "What an operation is, and who opened it when, does not change.",
    ),
    Trigger(
        "ledger_operation_stays_closed",
        "ledger_operation",
        "UPDATE",
        "OLD.closed_at IS NOT NULL AND (NEW.closed_at IS NULL OR NEW.closed_at <> OLD.closed_at"
        " OR NEW.closed_by_id IS NULL OR NEW.closed_by_id <> OLD.closed_by_id)"
        " AND (SELECT COUNT(*) FROM ledger_amendment WHERE operation_id = OLD.id)"
        " < (SELECT COUNT(*) FROM ledger_seal WHERE operation_id = OLD.id)",
        "A closed operation is opened again only by an amendment.",
    ),
    Trigger("ledger_lot_no_delete", "ledger_lot", "DELETE", "1 = 1", "A lot is never removed."),
    Trigger(
        "ledger_lot_stays_itself",
        "ledger_lot",
        "UPDATE",
        "NEW.item_id <> OLD.item_id OR NEW.code <> OLD.code OR NEW.origin_id <> OLD.origin_id"
        " OR NEW.made_on <> OLD.made_on",
        "A lot keeps its item, its code, its day and its origin.",
    ),
    Trigger(
        "ledger_lot_status_has_a_word",
        "ledger_lot",
        "UPDATE",
        "NEW.status <> OLD.status AND NEW.status <> COALESCE((SELECT now FROM ledger_statuschange"
        " WHERE lot_id = NEW.id ORDER BY id DESC LIMIT 1), '')",
        "A lot's status changes with a row that says who, when and why.",
    ),
    Trigger(
        "ledger_lot_date_has_a_word",
        "ledger_lot",
        "UPDATE",
        f"{_day('NEW.best_before')} <> {_day('OLD.best_before')} AND {_day('NEW.best_before')} <>"
        f" COALESCE((SELECT {_day('now')} FROM ledger_datechange"
        " WHERE lot_id = NEW.id ORDER BY id DESC LIMIT 1), 'never')",
        "A lot's date changes with a row that says who, when and why.",
    ),
    *append_only("ledger_placing"),
    *append_only("ledger_lotcount"),
    *behind_closed("ledger_lotcount", "{row}.operation_id", "INSERT"),
    *append_only("ledger_shed"),
    *behind_closed("ledger_shed", "{row}.operation_id", "INSERT"),
    Trigger(
        "ledger_shed_where_it_may",
        "ledger_shed",
        "INSERT",
        "NOT EXISTS (SELECT 1 FROM ledger_operation WHERE id = NEW.operation_id"
        " AND kind IN ('batch', 'packing', 'shed'))",
        "Only a batch, a packing run and a loss in store say what left.",
    ),
    Trigger(
        "ledger_shed_lot_was_there",
        "ledger_shed",
        "INSERT",
        "NEW.lot_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_posting"
        " WHERE operation_id = NEW.operation_id AND lot_id = NEW.lot_id AND side = 'in')",
        "What leaves an operation as a lot went into it.",
    ),
    Trigger(
        "ledger_shed_reversal_fits",
        "ledger_shed",
        "INSERT",
        "NEW.corrects_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM ledger_shed AS first"
        " WHERE first.id = NEW.corrects_id AND first.corrects_id IS NULL"
        " AND first.operation_id = NEW.operation_id AND first.kind = NEW.kind"
        " AND COALESCE(first.lot_id, 0) = COALESCE(NEW.lot_id, 0)"
        " AND first.quantity = -NEW.quantity)",
        "What left is taken back whole: same operation, same kind, same lot.",
    ),
    # What links the family tree: the walk takes any operation with both sides for a link.
    Trigger(
        "ledger_posting_one_way",
        "ledger_posting",
        "INSERT",
        "EXISTS (SELECT 1 FROM ledger_operation WHERE id = NEW.operation_id"
        " AND kind NOT IN ('batch', 'packing', 'unpacking'))"
        " AND EXISTS (SELECT 1 FROM ledger_posting WHERE operation_id = NEW.operation_id"
        " AND side = CASE NEW.side WHEN 'in' THEN 'out' ELSE 'in' END)",
        "Only a batch, a packing run and an unpacking both take lots and make one.",
    ),
]
