"""What a material is: names, blends, allergens, saponification values, use limits.

Not who sells it and when it came in: that is goods-in.
"""
