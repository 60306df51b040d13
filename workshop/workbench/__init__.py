"""What if: a formula tried with other shares, materials, lots or fill, beside what is approved.

What is tried is kept nowhere until it becomes a draft of the formulas room; every figure comes from
the functions that labels, costs and balances of real batches use.
"""
