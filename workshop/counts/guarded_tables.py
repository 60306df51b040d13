"""What the database refuses of rounds of counting, whoever asks."""

from workshop.core.database.triggers import Trigger, append_only

OVER = "EXISTS (SELECT 1 FROM counts_roundend WHERE round_id = {round})"
ITS_ROUND = "(SELECT round_id FROM counts_countline WHERE id = NEW.line_id)"
SENTENCE = "This round is over; nothing is counted in it any more."

GUARDS = [
    *append_only("counts_classing"),
    *append_only("counts_itemclass"),
    *append_only("counts_countround"),
    *append_only("counts_countline"),
    *append_only("counts_count"),
    *append_only("counts_roundend"),
    *append_only("counts_postedcount"),
    Trigger(
        "counts_line_while_under_way",
        "counts_countline",
        "INSERT",
        OVER.format(round="NEW.round_id"),
        SENTENCE,
    ),
    Trigger(
        "counts_count_while_under_way",
        "counts_count",
        "INSERT",
        OVER.format(round=ITS_ROUND),
        SENTENCE,
    ),
]
