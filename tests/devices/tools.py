"""What the test of several devices needs of the machine beside a browser."""

import shutil
from pathlib import Path

PROJECT = Path(__file__).resolve().parents[2]
# Where scripts/setup.sh lays what it unpacks from the system's packages.
UNPACKED = PROJECT / ".venv" / "devices" / "usr" / "bin"


def tool(name: str) -> str | None:
    """The terminator (caddy), or what tells a browser to trust an authority (certutil)."""
    return shutil.which(name) or shutil.which(name, path=str(UNPACKED))


def obstacle() -> str | None:
    missing = [name for name in ("caddy", "certutil") if tool(name) is None]
    named = " and no ".join(missing)
    return f"there is no {named}; say scripts/setup.sh devices." if missing else None
