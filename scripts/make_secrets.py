"""Makes the two secrets that docker-compose.yml reads, once; never replaces one."""

import secrets
from pathlib import Path

FOLDER = Path(__file__).resolve().parent.parent / "deploy" / "secrets"


def main() -> None:
    FOLDER.mkdir(mode=0o700, exist_ok=True)
    for name in ("secret-key", "database-password"):
        path = FOLDER / name
        if path.exists():
            print(f"{path} is there already and stays as it is.")
            continue
        # The folder is shut to others; the file is not, as the container's user must read it.
        path.touch(mode=0o644, exist_ok=False)
        path.write_text(secrets.token_urlsafe(64), encoding="ascii")
        print(f"Made {path}.")


if __name__ == "__main__":
    main()
