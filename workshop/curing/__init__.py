"""Soap after the pour: its place on a rack, what it loses while it dries, its tests.

Not the days it cures or what a release asks for: its formula says those. Not the bars: packing
fills boxes with them.
"""
