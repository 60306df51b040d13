"""Trace back and trace forward."""
