"""What every room shares and no subject: people, sign-in, exact numbers, form parts, paper, files.

Nothing of the trade: no lot, no formula, no law.
"""
