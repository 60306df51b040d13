"""Backups: where they lie, which are kept, and whether one was lately tried."""
