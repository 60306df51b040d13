"""What the database refuses in dispatch, whoever asks."""

from workshop.core.database.triggers import Trigger, append_only, behind_closed

GUARDS = [
    *behind_closed("dispatch_dispatch", "{row}.operation_id"),
    *behind_closed("dispatch_return", "{row}.operation_id"),
    *append_only("dispatch_deliveryconfirmation"),
    *append_only("dispatch_confirmationreversal"),
    # As many words as were taken back may be there before the next one.
    Trigger(
        "dispatch_confirmation_in_sequence",
        "dispatch_deliveryconfirmation",
        "INSERT",
        "NEW.sequence <> (SELECT COUNT(*) FROM dispatch_deliveryconfirmation AS word"
        " JOIN dispatch_confirmationreversal AS back ON back.arrival_id = word.id"
        " WHERE word.dispatch_id = NEW.dispatch_id)",
        "Of one dispatch one word of its arrival stands; the one before is taken back first.",
    ),
]
