"""The arithmetic of the trade: pure Python, no framework, no input or output.

It decides how much and whether; nothing is kept here.
"""
