"""The United States.

Source: 21 CFR 701.3, 701.10 to 701.13, 701.20, 740.10; 15 U.S.C. 1453, 1454; 21 U.S.C. 321(g)(1),
364a, 364c, 364d, 364e, 364h. 701.11, 364d and
that detergents are labelled by 16 CFR part 500 are from memory. The authority has the last word.
"""

from workshop.rules.markets.market_law import Law

LAW = Law(
    code="US",
    name="United States",
    dictionary="dictionary",
    list_rule="21 CFR 701.3",
    words={"water": "Water", "fragrance": "Fragrance", "flavour": "Flavor"},
    may_contain=". May contain: {}.",
    one_percent_is_free=True,
    order_rule="21 CFR 701.3(f): not more than 1 %",
    letters_rule="21 CFR 701.3(b) and (p)",
    names_allergens=False,
    ounces_first=True,
    has_e_mark=False,
    net_rule="21 CFR 701.13",
    date_phrase="Best by",
    needs_a_date=False,
    has_open_jar=False,
    has_hourglass=False,
    date_rule="",
    needs_responsible_person=False,
    responsible_rule="21 CFR 701.12",
    needs_function=False,
    needs_origin_of_imports=True,
    countries=("US",),
    languages=("en",),
    substantiation="safety substantiation",
    substantiation_rule="21 U.S.C. 364d",
    claims_rule="21 U.S.C. 321(g)(1)",
    has_common_criteria=False,
    paper="letter",
    fill_system="sample",
    report_rule=(
        "21 U.S.C. 364a asks for a report to the FDA within 15 business days of receipt (Monday to "
        "Friday without federal holidays), with a copy of the label; new medical facts within a "
        "year again within 15 business days"
    ),
    recall_terms=" (21 CFR 7.3)",
    contact_rule="21 U.S.C. 364e",
    has_product_file=False,
    notification="facility registration and product listing",
    notification_rule="21 U.S.C. 364c",
    detergent_rule="16 CFR part 500",
    soap_may_be_no_cosmetic=True,
)
