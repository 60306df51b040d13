"""`python -m mutation [room or module] [faults per module]`; SEED chooses another sample."""

import os
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from mutation.accepted_survivors import argued
from mutation.modules_and_tests import ROOMS, Room
from mutation.table import HEAD, Result, Row, rows, shown, sort_out, total
from mutation.trial import SURVIVED, faults_of, sample, try_out
from mutation.workplace import furnish, narrowed

AIM = 85  # percent


def main() -> int:
    wanted = sys.argv[1] if len(sys.argv) > 1 else ""
    size = int(sys.argv[2]) if len(sys.argv) > 2 else None
    room_name, _, module = wanted.partition("/")
    rooms = [room for room in ROOMS if room_name in ("", "all", room.name)]
    if not rooms:
        sys.exit(f"No room {room_name}: {', '.join(room.name for room in ROOMS)}, or all")
    if module:
        rooms = [narrowed(room, module) for room in rooms]
    below = [_show(room, _held(room, size)) for room in rooms]
    return int(any(below))


def _held(room: Room, size: int | None) -> Result:
    seed = int(os.environ.get("SEED", "1"))
    with TemporaryDirectory(prefix="tarebook-faults-") as name:
        folder = Path(name)
        found = [each for path in furnish(room, folder) if (each := faults_of(path, folder))]
        faults = [fault for each in found for fault in sample(each, size, seed)]
        made = sum(len(each) for each in found)
        print(f"\n{room.name}: {len(faults)} of {made} faults, seed {seed}", flush=True)
        outcomes = try_out(faults, folder)
    endless = [fault for fault in faults if outcomes[fault.name] == "timeout"]
    if endless:
        print("Counted as noticed, because the tests did not end:")
        print(*(shown(fault) for fault in endless), sep="\n")
    survived = {name: outcome in SURVIVED for name, outcome in outcomes.items()}
    return sort_out(faults, survived, argued())


def _show(room: Room, result: Result) -> bool:
    """Print the room's table; whether fewer were noticed than we aim at."""
    each = rows(result)
    together = total(room.name, each)
    print(HEAD, *each, together, sep="\n")
    if result.open:
        print("\nNoticed by no test, and not argued away:")
        print(*(shown(fault) for fault in sorted(result.open)), sep="\n", flush=True)
    return _below_aim(together)


def _below_aim(row: Row) -> bool:
    return row.noticed * 100 < AIM * (row.faults - row.argued)


if __name__ == "__main__":
    sys.exit(main())
