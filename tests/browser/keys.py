"""Real key events at chosen moments: a scanner's, a hand's, a key held down."""

import time
from collections.abc import Sequence

from playwright.sync_api import Page

SCANNER_MS, SLOW_SCANNER_MS, HAND_MS = 6, 45, 95
ENTER = "Enter"
GROUP_SEPARATOR = "\x1d"  # FNC1 between two elements, GS1 General Specifications
CTRL, SHIFT = 2, 8


def press_each(page: Page, keys: Sequence[str], gap_ms: float, *, held: bool = False) -> None:
    """The browser takes each key as pressed when its time stamp says, however busy the machine."""
    wire = page.context.new_cdp_session(page)
    at = time.time()
    for key in keys:
        values = _values(key)
        down = {"type": "keyDown", "timestamp": at, "autoRepeat": held, **values}
        wire.send("Input.dispatchKeyEvent", down)
        if not held:
            up = {"type": "keyUp", "timestamp": at + gap_ms / 2000, **values}
            up.pop("text", None)
            wire.send("Input.dispatchKeyEvent", up)
        at += gap_ms / 1000
    wire.detach()


def _values(key: str) -> dict[str, object]:
    if key == ENTER:
        return {"key": key, "code": key, "windowsVirtualKeyCode": 13, "text": "\r"}
    if key == GROUP_SEPARATOR:
        return {"key": "]", "code": "BracketRight", "windowsVirtualKeyCode": 221, "modifiers": CTRL}
    if key == " ":
        return {"key": key, "code": "Space", "windowsVirtualKeyCode": 32, "text": key}
    if key == ".":
        return {"key": key, "code": "Period", "windowsVirtualKeyCode": 190, "text": key}
    shift = SHIFT if key.isupper() else 0
    return {"key": key, "windowsVirtualKeyCode": ord(key.upper()), "text": key, "modifiers": shift}


def scan(page: Page, code: str, gap_ms: float = SCANNER_MS) -> None:
    """As a hand scanner: the code at one stroke, Enter behind it."""
    press_each(page, [*code, ENTER], gap_ms)


def type_in(page: Page, text: str, gap_ms: float = HAND_MS) -> None:
    press_each(page, [*text], gap_ms)
