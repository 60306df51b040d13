"""The European Union.

Source: Regulation (EC) 1223/2009, articles 4, 5, 10, 11, 13, 19, 20, 23 and 33, second-hand;
Regulation (EU) 2023/1545; Regulation (EU) 655/2013; Directive 76/211/EEC; for detergents
Regulation (EC) 648/2004, from memory. The languages are each
country's to say. The authority and the safety assessor have the last word.
"""

from datetime import date

from workshop.rules.markets.market_law import Law

LAW = Law(
    code="EU",
    name="European Union",
    dictionary="glossary",
    list_rule="Regulation (EC) 1223/2009, article 19(1)(g)",
    words={"water": "Aqua", "fragrance": "Parfum", "flavour": "Aroma"},
    may_contain=" [+/- {}].",
    one_percent_is_free=False,
    order_rule="Regulation (EC) 1223/2009, article 19(1)(g): less than 1 %",
    letters_rule="Regulation (EC) 1223/2009, article 19(1): easily legible; the height is our own",
    names_allergens=True,
    longer_list_from=date(2026, 8, 1),
    allergen_rule="Regulation (EU) 2023/1545",
    ounces_first=False,
    has_e_mark=True,
    net_rule="Regulation (EC) 1223/2009, article 19(1)(b)",
    date_phrase="Best used before the end of:",
    needs_a_date=True,
    has_open_jar=True,
    has_hourglass=True,
    date_rule="Regulation (EC) 1223/2009, article 19(1)(c)",
    needs_responsible_person=True,
    responsible_rule="Regulation (EC) 1223/2009, articles 4 and 19(1)(a)",
    needs_function=True,
    needs_origin_of_imports=True,
    countries=(
        "AT", "BE", "BG", "CY", "CZ", "DE", "DK", "EE", "ES", "FI", "FR", "GR", "HR", "HU", "IE",
        "IT", "LT", "LU", "LV", "MT", "NL", "PL", "PT", "RO", "SE", "SI", "SK",
    ),
    languages=("en", "de", "fr"),
    substantiation="cosmetic product safety report",
    substantiation_rule="Regulation (EC) 1223/2009, article 10",
    claims_rule="Regulation (EU) 655/2013",
    has_common_criteria=True,
    paper="a4",
    fill_system="average",
    report_rule="Regulation (EC) 1223/2009, article 23, asks for a report without delay",
    recall_terms="",
    contact_rule="",
    has_product_file=True,
    notification="CPNP notification",
    notification_rule="Regulation (EC) 1223/2009, article 13",
    detergent_rule="Regulation (EC) 648/2004, article 11",
    soap_may_be_no_cosmetic=False,
)  # fmt: skip
