"""What can happen in packing: units are packed, runs are stopped or taken back, lots judged."""

from workshop.packing.services.runs import (
    finish,
    hold,
    pack,
    plan_run,
    reject,
    release,
    stop,
    void_run,
)
from workshop.packing.services.top_ups import top_up
from workshop.packing.services.unpacking import unpack

__all__ = [
    "finish",
    "hold",
    "pack",
    "plan_run",
    "reject",
    "release",
    "stop",
    "top_up",
    "unpack",
    "void_run",
]
