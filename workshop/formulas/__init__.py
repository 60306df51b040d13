"""Formulas, their versions and drafts; the superfat of a soap on paper.

Not what was weighed: that is the kettle.
"""
