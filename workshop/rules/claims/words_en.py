"""English words that make a cosmetic a drug, a pesticide or a misleading offer.

Source: the classes follow warning letters and guidance of the US authority on drug claims for
cosmetics, second-hand, and Regulation (EU) 655/2013; single words are our own collection, from
memory where no letter was read. The list asks; an owner and a qualified person answer.
"""

from workshop.rules.claims.word_rules import Words

_SOAP_CURE = (
    r"cur(?:e|ed|es|ing) (?:\w+ ){0,4}(?:weeks?|days?|months?|rack|air|time|bars?|soaps?)|"
    r"(?:slow|air|well|fully|long|weeks?|months?) cur(?:e|ed|es|ing)"
)
WORDS = (
    Words("disease", r"heal(?!th)|self heal", "cares for dry, rough skin"),
    Words("disease", r"cur(?:e|es|ed|ing|ative|able)\b", "conditions dry skin", _SOAP_CURE),
    Words(
        "disease", r"treat(?:s|ed|ing|ment|ments|able)?\b", "conditions dry skin",
        r"(?:a|little|daily|real|sweet) treat\b|treat (?:yourself|your \w+ to|them to|someone)|"
        r"treat (?:it|them|this) (?:gently|kindly|well|with|like|as)",
    ),
    Words("disease", r"prevent|ward(?:s|ing)? off|prophyla", "guards dry skin from wind and cold"),
    Words("disease", r"remed|antidote|panacea|cure all|miracle", "balm, salve"),
    Words("disease", r"reliev|relief|alleviat|palliat|symptom|flare up|ailment|disease|disorder|"
          r"condition(?:s)? such as|skin condition|illness|sick|recover(?:s|y|ing)?\b|"
          r"convalesc|after ?care|chemo|radiation|health\b|wellness\b", "comforts dry skin",
          r"health (?:food|warning)"),
    Words("disease", r"e[ck]?[xcz]+[sz]?e?ma|psori|dermati|dermato[sp]|rosac|neuroderm|keratos|"
          r"vitilig|lupus|impetig|cellulitis|seborr", "for very dry skin"),
    Words("disease", r"acne|pimple|zits?\b|blemish|blackhead|breakout|comed(?:o|ones)\b",
          "cleanses oily skin"),
    Words("disease", r"dandruff|cradle cap|scalp (?:itch|scal)|nappy rash|diaper rash|rash",
          "gentle balm for baby skin"),
    Words("disease", r"sunburn|burns?\b|scald|frostbite|chilblain|"
          r"windburn", "after-sun moisturiser",
          r"(?:fat|slow|candle|wood) burns?|burns? (?:for|clean|slow)"),
    Words("disease", r"wound|abrasion|scrape|graze|lacerat|minor cuts?|cuts? (?:and|or|scrapes?)|"
          r"(?:for|on|heals|soothes) cuts|cuts\b|blister|ulcer|fissure|bed sore|sores?\b|chapp|"
          r"(?:cracked|broken|split|damaged) (?:skin|heels?|hands?|lips?)|bleed|stitches|surgery|"
          r"post op", "softens rough skin",
          r"hand cuts?|cuts? (?:by|into|from)|scrapes? (?:out|off|clean|down|round)|graze(?:s|"
          r"d)? (?:on|in|the|below|above|near)|"
          r"blister pack"),
    Words("disease", r"bruis|sprain|strains?\b(?! (?:through|out|off))|swell|swollen|oedema|"
          r"edema|contusion|hematoma|"
          r"fracture|broken bone", "massage balm"),
    Words("disease", r"arthr|rheuma|gout\b|bursit|tend[io]n|fibromyalg|sciatic|lumbago|osteo|"
          r"carpal tunnel|slipped disc|back ?ache|neural|neuro[pt]|nerve", "massage balm"),
    Words("disease", r"pain|ach(?:e|es|ed|ing|y)\b|head ?ache|migrain|tooth ?ache|colic|cramp|"
          r"spasm|"
          r"sore|throb|tender(?:ness)? joint|stiff", "massage balm",
          r"painstak|paint|stiff (?:in|when|at|balm|brush|card|paper|until)"),
    Words("disease", r"inflam|antiinflam|irritat|red(?:ness|dened skin)|itch|prurit|hives|urticar|"
          r"allerg|hay ?fever|sting|(?:insect|bug|mosquito|spider|flea) bites?|bites? and",
          "comforts dry-feeling skin", r"(?:bee|our|own|their|local|few|of) hives|"
          r"stinging nettle"),
    Words("disease", r"bacteri|antibacteri|microb|antimicrob|germs?\b|germicid|pathogen|septic|"
          r"antisept|disinfect|saniti[sz]|sterili[sz]|virus|viral|antivir|virucid|fung|antifung|"
          r"yeast|mou?lds?\b|mildew|candid|thrush|athletes? foot|ringworm|jock itch|parasit|"
          r"scabies|lice\b|mites?\b|"
          r"worms?\b|infect|antiinfect|mrsa|staph|strep|e coli|salmonel|covid|corona|influenz|"
          r"flu\b|"
          r"hiv\b|antibiot|biocid|toenail fung|nail fung", "cleanses",
          r"(?:wheat|rice|corn|oat|vulgare|sativa) germ|candid photo|microbeads?|coronation|"
          r"(?:in|into|from|of|with|our|its|own|the|a|each|wooden|silicone|loaf|soap|bar|heart) "
          r"mou?lds?(?! (?:on|from|off|away|and|or|under|between|spores))|"
          r"mou?lds? (?:poured|made|of|for|by)"),
    Words("disease", r"immun|herpes|cold sore|fever|shingles|wart|mollusc|verruca|corns? and|"
          r"callus|"
          r"bunion|mole remov|skin tag|hemorrh|haemorrh|piles\b|anal fiss", "lip balm for dry lips",
          r"feverfew|wart ?hog"),
    Words("disease", r"cancer|anticancer|tumou?r|carcino|melanom|lymphom|asthma|bronch|congest|"
          r"decongest|sinus|chest rub|vapou?r rub|cough|airways?|nasal|antihistam|colds?\b and|"
          r"head cold|common cold|"
          r"sore throat|"
          r"respirat|breathe eas|lung|pneumon|"
          r"copd", "fresh mint scent"),
    Words("disease", r"blood pressure|hypertens|heart (?:disease|palpit|health|rate|attack)|cardi|"
          r"palpitat|stroke\b|diabet|cholester|blood sugar|insulin|thyroid|kidney|liver|epilep|"
          r"alzheim|dement|parkinson|autis|adhd|multiple scleros|anaemi|anemi", "",
          r"cardigan|cardinal|cardamom|brush ?stroke|stroke of"),
    Words("disease", r"nervous|anxi|depress|panic|insomn|ptsd|stress (?:relief|reliev|disorder)|"
          r"de ?stress|"
          r"antidepress|nausea|morning sickness|hangover|vertigo|digest|constipat|diarrh|ibs\b|"
          r"menstrual|pms\b|menopaus|hot flash|hot flush|infertil|fertil|"
          r"endometri", "a calm, quiet scent"),
    Words("disease", r"therap|aromatherap|midwi|paramedic|physio|osteopath|chiropract|"
          r"medic(?!i?nal mushroom)|pharma|physician|doctor|nurse|"
          r"prescri|clinical|drug|dos(?:e|age)\b|homeopath|homoeopath|first aid|hospital|"
          r"analges|anaesthe|anesthe|numb(?!er)|painkill|"
          r"\w*cortiso|steroid|aspirin|paracetamol|acetaminoph|opio?id|morphin|cannabidiol|cbd\b|"
          # Stems of the names of drugs, by the list of the World Health Organization.
          r"\w{3,}(?:cillin|mycin|conazole|profen|caine|codone|solone|sporin|floxacin|"
          r"cycline|ciclovir)\b",
          "aromatic", r"drug ?store (?:scent|style)|nurser(?:y|ies)|hospitality"),
    Words("disease", r"spf\b|sun ?screen|sun ?block|sun protect|uv[ab]?\b|broad spectrum|"
          r"protects? (?:\w+ ){0,3}(?:from|against) (?:the )?(?:sun|rays|infect|disease|germs|uv)",
          "delete; a sunscreen is a drug in the US and needs tests elsewhere"),
    Words("disease", r"drawing (?:salve|ointment)|draw(?:s|ing)? out|splinter|poison (?:ivy|oak)|"
          r"snake bite|boils?\b|abscess|cyst|carbuncl|ointment|liniment|embrocat|"
          r"poultice", "balm", r"(?:not|never|to a|to the|a|rolling|gentle) boil"),
    Words("disease", r"fight(?:s|ing)? (?!for)|combat|kill|destroy|eliminat|eradicat|attacks? the|"
          r"neutrali[sz]es? (?!odou?r|smell)", "cleanses", r"killer whale"),
    Words("disease", r"\w{4,}itis\b|\w{4,}osis\b|\w{3,}algia\b|\w{3,}emia\b|\w{3,}aemia\b|"
          r"\w{3,}pathy\b|\w{3,}(?:cide|cidal)\b|\w{3,}rrhea\b|\w{3,}rrhoea\b", "",
          r"metamorphosis|symbiosis|osmosis|sympathy|empathy|decide"),
    Words("structure", r"muscle|muscular|joints?\b|range of motion|mobility|flexib|ligament|bone|"
          r"hamstring|rotator cuff|(?:relax|loosen|eas|relea|help)\w* (?:\w+ ){0,3}"
          r"(?:shoulders?|necks?|backs?|calves|knees?|hips?)\b|"
          # A body that is helped to do something works otherwise than it did.
          r"(?:help|let|allow|support|teach)\w* (?:the|your) body|heavy metals|"
          r"milk supply|lactation|engorg|breast ?feed",
          "glides on for massage",
          r"jojoba joint|bone (?:china|white|folder|handle)"),
    Words("structure", r"sleep|drows|sedat|quit smoking|nicotine|addict|libido|aphrodis|hormon|"
          r"cortisol|sexual|"
          r"erect|testosteron|estrogen|oestrogen|metaboli|weight loss|lose weight|fat burn|"
          r"burns fat|"
          r"slimm|appetite|energy level|brain|memory|focus and|cognit", "bedtime scent",
          r"sleepy hollow|memor(?:y|ies) of|memory lane"),
    Words("structure", r"circulat|blood|lymph|de ?tox|toxins?\b|capillar|vein|varicos|vascular|"
          r"oxygenat|purif(?:y|ies) the (?:body|blood)", "massage leaves skin glowing",
          r"blood orange"),
    Words("structure", r"collagen|elastin|elasticit|cellulit|stretch marks?|striae|scars?\b|"
          r"scarring|"
          r"keloid|wrinkle|antiwrinkle|crows? feet|firming|firmness|firms\b|firm skin|lift(?:s|"
          r"ing)\b|"
          r"face ?lift|tighten|tones? (?:the )?(?:skin|body)|botox|"
          r"fillers?\b", "skin looks smooth", r"lifts? (?:the|off|out|away)"),
    Words("structure", r"regenerat|rejuvenat|rebuild|repair|revitali[sz]e|renew(?:s|al|"
          r"ing)? (?:of )?"
          r"(?:the )?(?:skin|cell)|cells?\b|cellular|dna\b|gene\b|genes\b|stem cell|stimulat|"
          r"activat|"
          r"boost|inhibit|restor(?:e|es|ing|ation)(?: the| your| of)? (?:hair|skin|barrier|"
          r"health|ph)|"
          r"hair restor|new skin|skin growth|tissue|turnover", "skin looks fresh",
          r"activated (?:charcoal|plant)|charcoal activated|repairable|reuse repair|"
          r"tissue paper|cell phone"),
    Words("structure", r"\w*pigment|melan|age spots?|dark spots?|liver spots?|lighten|whiten|"
          r"bleach|fade|"
          r"brightens? skin tone by", "evens the look of skin tone"),
    Words("structure", r"(?:hair|eye ?lash|lash|brow|beard|nail)s? (?:re ?)?grow|"
          r"(?:re ?)?grows? (?:\w+ )?"
          r"(?:hair|lash|brow|beard|nails)|promotes? growth|hair loss|thinning|"
          r"bald(?:ness|ing)|(?:going|from|to|for|early|patchy|against) bald|"
          r"bald (?:spots?|patch\w*|heads?|scalps?|m[ae]n|areas?)|alopec|follic|"
          r"oil production|sebum|pores? (?:shrink|minimi)|shrinks? pores|plump|fatty tissue|"
          r"volume of",
          "hair looks full and shiny"),
    Words("structure", r"antiperspir|perspir|sweat(?!ers?\b|shirt)|hyperhidro", "deodorises"),
    Words("pesticide", r"repel|mosquito|ticks?\b|insect|bugs?\b|fleas?\b|midge|gnat|"
          r"pests?\b(?! named)",
          "outdoor scent"),
    Words("misleading", r"fda\b|government approv|(?:authority|officially|eu) approv|"
          r"(?:authori[sz]ed|"
          r"approved|certified) by (?:the )?(?:fda|eu\b|european|mhra|authorit|government|"
          r"ministry)|"
          r"authori[sz]ed", "delete"),
    Words("misleading", r"chemical free|no chemicals|without chemicals|free (?:of|from) chemicals|"
          r"non ?toxic|toxic|100 ?% safe|completely safe|no side effects|"
          r"guarantee", "name the ingredients"),
    Words("eu_claim", r"free (?:of|from)|\w+ free\b|contains? no|no (?:paraben|sulfate|sulphate|"
          r"silicone|"
          r"preservat|nast|hydroquin|alumin|mineral oil|palm|synthetic|artificial|perfume|alcohol)|"
          r"without (?:paraben|sulfate|sulphate|silicone|preservat|alumin)|not tested on animals|"
          r"cruelty", "say what is in it", r"(?:fragrance|scent|hands|care|crease|grease|oil|"
          r"worry) free\b|free from (?:grease|film)"),
    Words("eu_claim", r"hypo ?allergen|non ?comedogen|dermatolog\w+ (?:tested|approv|recommend|"
          r"proven)|"
          r"clinically|proven|scientific|"
          r"suitable for sensitive", "few ingredients, listed in full"),
)  # fmt: skip
ANTI_PASSES = r"anti(?:oxidan|frizz|static|slip|cak|ageing|aging|que|cipat|dote|pod|c\b)"
LOOKS = (
    r"(?:look|looks|looking|appear|appears|appearance|appearing|feel|feels|feeling|felt|glow|"
    r"glowing|"
    r"seem|visibl\w+)"
)
# Plants that are called after what they were once used for: a name in a list promises nothing.
NAMES = (
    r"feverfew|lungwort|liverwort|woundwort|spleenwort|bloodroot|eyebright|sneezewort|bruisewort|"
    r"goutweed|toothwort|throatwort|birthwort|nipplewort|bladder ?(?:wrack|campion)"
)
# When to stop, where not to use it, whom to ask: a caution names what it does not promise to mend.
CAUTION = (
    r"(?:please )?(?:(?:stop|discontinue) (?:use|using|it|application)\b|"
    r"do not (?:use|apply|swallow|eat|ingest|boil|get)\b|not for (?:use )?(?:on|in|by|near)\b|"
    r"avoid (?:contact|the eyes|use)\b|keep (?:away from|out of)\b|(?:patch )?test first|"
    r"patch test|"
    r"test on a small|(?:ask|consult|see) (?:a|your) (?:doctor|physician|pharmacist)|"
    r"if (?:\w+ ){1,6}(?:occurs?|appears?|develops?|persists?) (?:\w+ )?"
    r"(?:stop|discontinue|ask|see|consult|rinse)\b)"
)
PROMISE = (
    r"(?:heal|cur(?:e|es|ing)\b|treat|reliev|sooth|calm|eas(?:e|es|ing)\b|help|prevent|repair|"
    r"kill|fight|protect|clear|remov|reduc|works?\b|banish|rid\b|gone\b|instead|anymore|again)"
)
