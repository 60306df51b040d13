"""Complaints, what they have in common, recalls and drills.

The tracing itself is the trace room's.
"""
