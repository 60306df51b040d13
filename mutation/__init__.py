"""Small faults put into the code one at a time: do a room's own tests notice them?

`python -m mutation` tries every room, `python -m mutation rules 20` a sample of twenty faults for
each module of one. Outside continuous integration, as it takes hours.
"""
