"""Great Britain.

Source: Regulation (EC) 1223/2009 as retained, Schedule 34 of the Product Safety and Metrology
(Amendment) (EU Exit) Regulations 2019; the notification by the government's guidance, second-hand.
That the longer allergen list of Regulation (EU) 2023/1545 is not asked for here is from memory:
the retained Annex III keeps the earlier names. Northern Ireland follows the EU. The authority and
the safety assessor have the last word.
"""

from dataclasses import replace

from workshop.rules.markets import eu

RETAINED = "Regulation (EC) 1223/2009 as retained in Great Britain"

LAW = replace(
    eu.LAW,
    code="UK",
    name="Great Britain",
    list_rule=f"{RETAINED}, article 19(1)(g)",
    order_rule=f"{RETAINED}, article 19(1)(g): less than 1 %",
    letters_rule=f"{RETAINED}, article 19(1): easily legible; the height is our own",
    longer_list_from=None,
    allergen_rule=f"{RETAINED}, Annex III",
    net_rule=f"{RETAINED}, article 19(1)(b)",
    date_rule=f"{RETAINED}, article 19(1)(c)",
    responsible_rule=f"{RETAINED}, articles 4 and 19(1)(a)",
    countries=("GB",),
    languages=("en",),
    substantiation_rule=f"{RETAINED}, article 10",
    claims_rule=f"{RETAINED}, article 20",
    report_rule=f"{RETAINED}, article 23, asks for a report without delay",
    detergent_rule="Regulation (EC) 648/2004 as retained in Great Britain, article 11",
    notification="SCPN notification",
    notification_rule=f"{RETAINED}, article 13",
)
