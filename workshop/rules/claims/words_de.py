"""German words that make a cosmetic a medicine, a biocide or a misleading offer.

Source: the classes as for English, Regulation (EU) 655/2013; the words are from memory.
"""

from workshop.rules.claims.word_rules import Words

WORDS = (
    Words("disease", r"\w*heil(?!ig|bronn)|kurier|genes(?:ung|en)|behand[el]|behandlung|linder|"
          r"vorbeug|gesundheit|"
          r"verhinder|verhüt|heilmittel|wundermittel|beschwerde|symptom|krankheit|erkrank|leiden\b",
          "pflegt trockene, raue Haut", r"teilheil|unteilheil"),
    Words("disease", r"ekzem|neurodermit|schuppenflecht|psoria|\w*dermatit|rosacea|akne|pickel|"
          r"mitesser|"
          r"hautunreinheit|schuppen|ausschlag|windel|milchschorf|"
          r"hautkrank", "für sehr trockene Haut"),
    Words("disease", r"sonnenbrand|verbrenn|\w*wund(?!er)|schürf|schnitt(?:wunde|verletz)|"
          r"blasen?(?:\b|pflaster)|"
          r"geschwür|furunkel|abszess|\w*rissig|schrunde|verletz|"
          r"nagelbett", "macht raue Haut weich"),
    Words("disease", r"\w*schmerz|\w*entzünd|antientzünd|schwell|juck|rötung|gerötet|irritat|"
          r"reizung|"
          r"gereizt|\w*allerg(?!en)|nesselsucht|insektenstich|stiche?\b|bisse?\b|prellung|"
          r"verstauch|"
          r"zerrung|bluterguss|blaue flecken", "beruhigt das Gefühl trockener Haut"),
    Words("disease", r"rheuma|arthr|gicht|migräne|kopfweh|krampf|verspann|hexenschuss|ischias|"
          r"bandscheib|"
          r"nerven|sehnen", "zur Massage"),
    Words("disease", r"\w*bakteri|\w*mikrob|keim(?!öl|ling)|\w*vir(?:us|en|al)\b|viruzid|"
          r"\w*pilz|fußpilz|\w*schimmel(?!weiß|pferd|reiter)|"
          r"\w*infekt|desinfi|\w*sept|steril|parasit|läuse|krätze|milben", "reinigt",
          r"weizenkeim|reiskeim|maiskeim"),
    Words("disease", r"immun|abwehr|\w*herpes|gürtelrose|wundrose|blutstill|blutreinig|"
          r"blutgerinn|schleimlös|lippenbläschen|fieber|warze|hämorr|krebs|tumor|asthma|"
          r"bronch|erkält|husten|schnupfen|grippe|atemweg|blutdruck|herz(?:leiden|krank|rasen)|"
          r"diabet|cholest|schlaganfall|epilep|demenz", ""),
    Words("disease", r"(?:förder|besser|verbesser|bring|unterstütz|schenk)\w* (?:\w+ ){0,2}schlaf|"
          r"schlaflos|einschlaf|schlafför|besser schlaf|angst|depress|unruhe|stressabb|"
          r"gegen stress|übelkeit|verdauung|regelschmerz|wechseljahr", "ein ruhiger Duft"),
    Words("disease", r"arznei|medizin|medikament|\w*therap|klinisch|ärzt|arzt|apothek|"
          r"rezept(?:pfl|frei)|"
          r"betäub|schmerzmittel|\w*[ck]ortiso|antihistam|aspirin|heilsalbe|erste hilfe|zugsalbe|"
          r"splitter|eiter\b|"
          # Stems of the names of drugs, by the list of the World Health Organization.
          r"\w{3,}(?:cillin|mycin|conazol|profen|cain|solon|sporin|floxacin|cyclin|"
          r"ciclovir)\b", "duftend"),
    Words("disease", r"lsf\b|lichtschutz|sonnenschutz|sonnencreme|uv\w*|"
          r"schützt vor (?:der )?(?:sonne|"
          r"uv|infekt|keim|krank)", "streichen"),
    Words("disease", r"bekämpf|tötet|abtöt|vernichtet|beseitigt|wirkt gegen|hilft (?:bei|gegen)|"
          r"gegen (?:akne|ekzem|pickel|keime|pilz)", "reinigt"),
    Words("structure", r"muske|gelenk|durchblut|kreislauf|\w*lymph|venen|krampfader|besenreiser|"
          r"entgift|bindegewebe|immunsyst|nervensyst|organismus|"
          r"entschlack|detox|giftstoff", "zur Massage"),
    Words("structure", r"kollagen|elastin|elastizität|zellulit|cellulit|dehnungsstreif|"
          r"schwangerschaftsstr|"
          r"narbe|\bfalten|antifalten|straff|lift(?:ing|et)|festig", "die Haut sieht glatt aus"),
    Words("structure", r"regenerier|regenerat|verjüng|repar|aufbau|\bzell|stimulier|aktivier|"
          r"gewebe|"
          r"erneuer|hautbarriere stärk", "die Haut sieht frisch aus", r"aktivkohle"),
    Words("structure", r"pigment|melanin|altersfleck|aufhell|bleich|haarwuchs|haarausfall|"
          r"haarwachs|"
          r"wimpernwachs|bartwuchs|talgprod|schweiß|schwitz|antitranspir|hormon|libido|abnehm|"
          r"fettverbrenn|schlank", "das Haar sieht voll aus"),
    Words("pesticide", r"mücke|insekten(?:abw|schutz|vertr)|zecke|vertreibt|ungeziefer|"
          r"motten", "Duft"),
    Words("misleading", r"chemiefrei|(?:ohne|keine|frei von) (?:\w+ ){0,2}chemi|ungiftig|"
          r"giftfrei|ohne nebenwirk|zugelassen|"
          r"behördlich|"
          r"garantier", "die Bestandteile nennen"),
    Words("eu_claim", r"frei von|ohne (?:paraben|silikon|konserv|alumin|mineralöl|sulfat|zusatz)|"
          r"\w+(?:paraben|silikon|aluminium|sulfat)frei|parabenfrei|silikonfrei|tierversuch|"
          r"hypoallergen|dermatologisch|wissenschaftlich|nachgewiesen", "sagen, was darin ist"),
)  # fmt: skip
LOOKS = (
    r"(?:aussehen|aussieht|sieht|sehen|wirken|wirkt|erscheinen|fühlt|gefühl|anfühlt|optisch|"
    r"sichtbar)"
)
# A tin, soon, waiting, bland, a mixture, ticking: English has words like them that stop.
ORDINARY = r"dosen?|dosier\w*|bald|warte[nt]?|wartezeit|faden?|fade[rsm]|melangen?|tick(?:en|t)"
# Earths and plants that are called after what they were once used for.
NAMES = (
    r"heilerden?\b|heilziest|wundklee|lungenkraut|leberblümchen|blutwurz|blutweiderich|augentrost|"
    r"zahnwurz|gichtrose|fieberklee|herzgespann|milzkraut"
)
CAUTION = (
    r"(?:nicht (?:auf|an|in|bei|für|verwenden|anwenden|schlucken)\b|kontakt mit|"
    r"bei (?:\w+ ){1,5}(?:nicht (?:mehr |weiter |länger )?(?:verwenden|anwenden|benutzen|"
    r"auftragen)|"
    r"anwendung (?:beenden|abbrechen)|(?:einen )?arzt (?:fragen|aufsuchen))|zuerst auf|"
    r"vor (?:der )?anwendung (?:\w+ ){0,4}testen|von (?:\w+ ){1,3}fernhalten)"
)
PROMISE = (
    r"(?:\w*heil(?!ig)|linder|beruhig|hilft|helfen|schütz|pfleg|behand|bekämpf|wirkt|tötet|"
    r"repar|stärk|förder|reduzier|verschwind|sondern|wieder\b)"
)
