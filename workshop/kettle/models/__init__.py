"""Kettles, scales, batches, each weighing and check of a batch, and what stands beside it."""

from workshop.kettle.models.batch import Batch, BatchLine, BatchState, Check, CheckKind, Weighing
from workshop.kettle.models.batch_extras import MEANT, Photo, TargetChange, TargetChangeKind, Timer
from workshop.kettle.models.equipment import AccuracyClass, Cleaning, Kettle, KettleMaterial, Scale

__all__ = [
    "MEANT",
    "AccuracyClass",
    "Batch",
    "BatchLine",
    "BatchState",
    "Check",
    "CheckKind",
    "Cleaning",
    "Kettle",
    "KettleMaterial",
    "Photo",
    "Scale",
    "TargetChange",
    "TargetChangeKind",
    "Timer",
    "Weighing",
]
