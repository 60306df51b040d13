"""French words that make a cosmetic a medicine, a biocide or a misleading offer.

Source: the classes as for English, Regulation (EU) 655/2013; the words are from memory.
"""

from workshop.rules.claims.word_rules import Words

WORDS = (
    Words("disease", r"guéri|guerir|cure\b|curati|soign(?:e|er|ant)\b|trait(?:e|er|ent|ant|"
          r"ement|ements)\b|"
          r"prévien|préven|santé\b|convalesc|remède|soulag|symptôm|maladie|affection|troubles?\b|"
          r"miracle",
          "prend soin des peaux sèches"),
    Words("disease", r"ecz[ée]ma|psoria|dermati|dermatose|rosacée|couperose|acné|boutons?\b|"
          r"points noirs|"
          r"imperfection|pellicul|éruption|érythème|croûtes? de lait|urticaire",
          "pour les peaux très sèches", r"boutons? (?:de rose|d or|floral)"),
    Words("disease", r"coups? de soleil|brûlure|plaie|coupure|écorchure|égratign|blessure|"
          r"ampoule|ulcère|"
          r"crevasse|gerç|furoncle|abcès|escarre|fissure|ecchymose|hématome|contusion|"
          r"bleus\b", "adoucit les peaux rugueuses"),
    Words("disease", r"douleur|doulour|coliques?\b|antidouleur|mal(?:aux)? de|inflam|antiinflam|"
          r"gonfl|enfl|"
          r"démang|"
          r"prurit|rougeur|irritat|irrité|allerg|piqûre|entorse|foulure|crampe|contracture|"
          r"courbatur",
          "réconforte les peaux sèches"),
    Words("disease", r"arthr|rhumat|goutte\b(?! à)|migraine|tendini|sciatique|lumbago|"
          r"nerf", "pour le massage"),
    Words("disease", r"bactér|antibactér|microb|antimicrob|germes?\b|pathog|virus|viral|antivir|"
          r"champignon|"
          r"mycose|moisi|fong|antifong|infect|désinf|septi|antisept|stérilis|parasit|poux\b|gale\b|"
          r"assaini",
          "nettoie", r"germes? de (?:blé|riz)"),
    Words("disease", r"immunit|immunis|herpès|fièvre|verrue|hémorr|cancer|tumeur|asthm|bronch|"
          r"rhume|toux|nez bouch|débouch|nasal|voies (?:nasales|respir)|décongest|"
          r"défenses naturelles|zona\b|"
          r"grippe|sinus|respir|tension artérielle|hypertens|cardia|cardio|diabèt|cholest|épilep|"
          r"alzheimer", ""),
    Words("disease", r"insomni|endorm|dormi(?:r|ez)\b|anxi|dépress|angoiss|antistress|nausée|"
          r"digest|"
          r"règles douloureuses|"
          r"ménopaus", "un parfum calme"),
    Words("disease", r"médic|médec|thérap|aromathérap|cliniqu|pharmac|ordonnance|anesth|analg|"
          r"antalg|\w+algique|\w*cortison|aspirine|antihistam|"
          r"premiers soins|homéopath|onguent", "parfumé"),
    Words("disease", r"fps\b|écran solaire|protection solaire|indice de protection|uv\w*|"
          r"protège (?:\w+ ){0,3}(?:du soleil|des uv|des infections|des microbes)", "supprimer"),
    Words("disease", r"combat|tue\b|élimin|détruit|lutte contre|agit contre|"
          r"efficace contre", "nettoie"),
    Words("structure", r"muscl|muscul|articul|circulat|sangu|sang\b|lymph|veine|veineu|varice|"
          r"jambes lourdes|"
          r"dé ?tox|toxine|drain", "pour le massage", r"oranges? sanguine"),
    Words("structure", r"collagène|élastine|élasticité|cellulite|vergeture|cicatri|rides?\b|"
          r"antiride|"
          r"raffermi|liftant|lifting|tonifi|fermeté", "la peau paraît lisse"),
    Words("structure", r"régénér|rajeuni|répar|cellul|stimul|activ(?:e|er) (?:la|le|les)|tissus?\b|"
          r"renouvell|restaur", "la peau paraît fraîche", r"charbon actif"),
    Words("structure", r"pigment|mélanin|taches? (?:brunes|de vieillesse|pigment)|éclairci|blanchi|"
          r"repousse|pousse des|chute des cheveux|anticheute|sébum|transpir|hormon|libido|minceur|"
          r"aminciss|brûle graisse|sommeil", "les cheveux paraissent brillants"),
    Words("pesticide", r"moustique|insecti|insectes?\b|tiques?\b|répuls|éloigne les", "parfum"),
    Words("misleading", r"sans (?:produits? )?chimiques?|non toxique|sans danger|autorisé par|"
          r"approuvé par|"
          r"garanti", "nommer les ingrédients"),
    Words("eu_claim", r"sans (?!parfum|film|gras|rinçage|effet gras|coller)|non testé|hypoallerg|"
          r"dermatolog|scientifi|prouvé|libre de|exempt", "dire ce qu’il contient"),
)  # fmt: skip
LOOKS = r"(?:paraît|paraissent|apparence|aspect|sembl\w+|visibl\w+|sensation|air)"
# Bread, bland, a mixture, a measure, moths, batteries: English has words like them that stop.
ORDINARY = r"pains?|fades?|melanges?|dos(?:e|es|er|age|ages)|reliefs?|piles?|mites?"
# Plants that are called after what they were once used for.
NAMES = r"anthyllide vulnéraire|pulmonaire|hépatique|sanguinaire|sanguisorbe"
CAUTION = (
    r"(?:ne (?:pas|jamais) (?:utiliser|appliquer|avaler|laisser|mettre|ingérer)\b|"
    r"(?:cesser|arrêter) (?:l )?(?:utilisation|usage|application)\b|éviter (?:le |tout )?contact|"
    r"en cas d(?:e|u)? (?:\w+ ){1,5}(?:cesser|arrêter|ne pas|rincer|consulter)\b|consulter un|"
    r"demander (?:conseil|l avis)|tester d abord|tenir (?:hors|éloigné))"
)
PROMISE = (
    r"(?:guéri|soign|soulag|apais|calm|aide|protèg|répar|trait(?:e|er|ent)\b|lutt|combat|élimin|"
    r"rédui|agit|efficace|mais)"
)
