"""Tests of the organic room."""
