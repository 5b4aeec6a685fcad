"""What things are made of: one table of materials that cautions, origins and allergens share.

A row has a material's kinds, its names in lists of ingredients (INCI), its plain names in five languages and its CAS
numbers. An ingredient is known by any of them, alone or among other words: "Sweet Almond Oil", "Prunus Amygdalus Dulcis
Oil", "Mandelöl" and 8007-69-0 are one. What the table does not know has no kind, which is no promise of anything.
"""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Final

NUTS, BEES, MILK, WOOL, CEREALS = "nuts", "bees", "milk", "wool", "cereals"
AROMATIC: Final = "aromatic"
"""A plant whose oil is distilled, or pressed from the peel; only such an oil is an essential one."""
ESSENTIAL, PERFUME, FOAMING, MELTING = "essential", "perfume", "foaming", "melting"
COLOURING, SPIRIT, COOLING = "colouring", "spirit", "cooling"

# kinds | INCI | English | French | German | Spanish | Italian | CAS
#
# A name is whole words, with a plural s or x; "*" behind it takes all that begins so, before it all that ends so. A
# German name takes all that begins so, since oils are written in one word with it. Names of plants that any part of
# may stand behind are the first words of the INCI name. Nuts: which plants count is from memory, shea and coconut among
# them; US Food and Drug Administration, "Allergens in Cosmetics", has no class for them, so they inform only. CAS
# numbers of aromatic oils: the annex to Regulation (EU) 2023/1545, as compute/allergens.py has them; the others from
# memory, their check digits tested. All else: words of the trade, from memory.
_TABLE: Final = """
nuts | prunus amygdalus, prunus dulcis, almondate, almondamid* | almond | amande | mandel, süßmandel, bittermandel | almendra | mandorla, mandorle | 8007-69-0 90320-37-9
nuts | macadamia, macadamiate, macadamiaseedate | macadamia | macadamia | macadamia | macadamia | macadamia | 128497-20-1
nuts | corylus, hazelnutate | hazelnut, filbert, cobnut | noisette | haselnu | avellana | nocciola, nocciole | 84012-21-5
nuts | juglans, walnutate | walnut | noix | walnu | nuez, nueces | noce, noci | 8024-09-7
nuts | argania, argan, arganate | argan | argan, argane | argan | argán | argan |
nuts | arachis, peanutate | peanut, groundnut, monkey nut | arachide, cacahuète, cacahouète | erdnu | cacahuete, cacahuate, maní | arachide, arachidi | 8002-03-7
nuts | cocos nucifera, cocoate, coconutate, hydrogenated coco | coconut, copra, coco oil | coco | kokos | coco | cocco | 8001-31-8
nuts, melting | butyrospermum, vitellaria, shea butterate, sheabutterate, shea butteramid* | shea, karite | karité | shea, karité | karité | karité | 194043-92-0
nuts | anacardium, cashew* | cashew | cajou | cashew, kaschu | anacardo, marañón | anacardio, anacardi |
nuts | bertholletia | brazil nut, brazilnut | noix du brésil | paranu | nuez de brasil | noce del brasile |
nuts | pistacia vera, pistachioate | pistachio | pistache | pistazie | pistacho | pistacchio, pistacchi | 90082-81-8
nuts | carya | pecan | pécan, pacane | pekan | pecán, pacana | pecan |
nuts | pinus pinea | pine nut, pine kernel | pignon de pin | pinienkern | piñón, piñones | pinolo, pinoli |
nuts | canarium, schinziophyton, aleurites | mongongo, kukui, candlenut, pili nut | bancoulier | kukui | kukui | kukui |
bees, melting | cera alba, cera flava | beeswax, bees wax | cire d'abeille | bienenwachs | cera de abeja, cera de abejas | cera d'api | 8012-89-3
bees | mel, mel extract, propolis*, royal jelly* | honey, propolis, royal jelly, bee pollen | miel, propolis, gelée royale | honig, propolis, gelée royale, gelee royale | miel, propóleo, jalea real | miele, propoli, pappa reale | 9009-62-5
milk | lac, caprae lac, sodium caseinate, casein, hydrolyzed milk protein, lactis proteinum | milk, buttermilk, whey, casein, colostrum, yogurt, yoghurt, cream powder | lait, babeurre, lactosérum, caséine, yaourt | milch, ziegenmilch, vollmilch, magermilch, buttermilch, eselsmilch, stutenmilch, schafmilch, molke, casein, joghurt | leche, suero de leche, caseína, yogur | latte, siero di latte, caseina, yogurt |
wool | lanolin*, adeps lanae, lana cera | lanolin, wool fat, wool wax | lanoline, graisse de laine | lanolin, wollwachs, wollfett | lanolina | lanolina | 8006-54-0
cereals | avena, triticum, secale, hordeum, wheat germamid* | oat, oatmeal, wheat, rye, barley, spelt | avoine, blé, seigle, orge, épeautre | hafer, weizen, roggen, gerste, dinkel | avena, trigo, centeno, cebada, espelta | avena, frumento, segale, orzo, farro |
aromatic | lavandula | lavender, lavandin, spike lavender | lavande, lavandin, aspic | lavendel, lavandin | lavanda, lavandín, espliego | lavanda, lavandino | 91722-69-9 8022-15-9 93455-96-0 93455-97-1 92623-76-2 84776-65-8 8000-28-0 90063-37-9
aromatic | mentha piperita | peppermint | menthe poivrée | pfefferminz | menta piperita | menta piperita | 8006-90-4 84082-70-2
aromatic | mentha viridis, mentha spicata | spearmint | menthe verte | krauseminz, grüne minze | hierbabuena | menta verde | 8008-79-5 84696-51-5
aromatic | mentha | mint, cornmint, pennyroyal | menthe | minz, poleiminz | menta | menta |
aromatic | rosmarinus, salvia rosmarinus | rosemary | romarin | rosmarin | romero | rosmarino |
aromatic | salvia | sage, clary sage, clary | sauge | salbei | salvia | salvia |
aromatic | citrus limon | lemon | citron | zitrone | limón | limone, limoni | 84929-31-7 8008-56-8
aromatic | citrus aurantium bergamia, citrus bergamia | bergamot | bergamote | bergamott | bergamota | bergamotto | 8007-75-8 89957-91-5 68648-33-9 85049-52-1
aromatic | citrus | orange, sweet orange, bitter orange, mandarin, tangerine, clementine, grapefruit, lime, pomelo, yuzu, citrus | orange, mandarine, clémentine, pamplemousse, citron vert, lime, agrumes | orange, mandarine, grapefruit, pampelmuse, limette, zitrus | naranja, mandarina, pomelo, toronja, lima, cítricos | arancia, arancio, mandarino, pompelmo, lime, agrumi | 68916-04-1 97766-30-8 8008-57-9
aromatic | citrus aurantium amara flower | neroli, petitgrain, orange blossom | néroli, petit grain, petitgrain, fleur d'oranger | neroli, petitgrain, orangenblüte | neroli, azahar | neroli, petitgrain, fiori d'arancio | 8016-38-4
aromatic | eucalyptus | eucalyptus | eucalyptus | eukalyptus | eucalipto | eucalipto | 97926-40-4 8000-48-4
aromatic | melaleuca, leptospermum | tea tree, teatree, manuka, cajeput, cajuput, niaouli | arbre à thé, tea tree, niaouli, cajeput | teebaum, manuka, cajeput, niaouli | árbol de té, árbol del té, niaouli | albero del tè, tea tree, niaouli, cajeput |
aromatic | pelargonium | geranium, rose geranium | géranium, géranium rosat | geranie, rosengeranie, geranium | geranio | geranio | 90082-51-2 8000-46-2
aromatic | cananga | ylang, ylang ylang, cananga | ylang, ylang ylang | ylang | ylang | ylang | 83863-30-3 8006-81-3 68606-83-7 93686-30-7
aromatic | cymbopogon | lemongrass, lemon grass, citronella, palmarosa | citronnelle, lemongrass, palmarosa | zitronengras, lemongras, citronella, palmarosa | limoncillo, citronela, palmarosa | citronella, lemongrass, palmarosa | 8007-02-1 89998-16-3 91844-92-7
aromatic | juniperus | juniper, juniper berry, cade | genévrier, genièvre, cade | wacholder | enebro | ginepro | 8000-27-9 85085-41-2
aromatic | pinus, abies, picea, tsuga, pseudotsuga | pine, scots pine, fir, spruce, hemlock spruce, fir needle | pin, pin sylvestre, sapin, épinette, épicéa | kiefer, kiefernnadel, latschenkiefer, tanne, fichte, zirbe | pino, abeto | pino, abete | 90082-72-7 97676-05-6
aromatic | cedrus, thuja, cupressus, chamaecyparis | cedar, cedarwood, cypress, hinoki, thuja | cèdre, cyprès, thuya | zeder, zypresse | cedro, ciprés | cedro, cipresso | 92201-55-3 8023-85-6
aromatic | thymus, origanum, ocimum, satureja | thyme, oregano, marjoram, basil, savory | thym, origan, marjolaine, basilic | thymian, oregano, majoran, basilikum | tomillo, orégano, mejorana, albahaca | timo, origano, maggiorana, basilico |
aromatic | foeniculum, pimpinella, illicium, anethum, carum, cuminum, coriandrum, apium, daucus, angelica, levisticum | fennel, aniseed, anise, star anise, dill, caraway, cumin, coriander, celery seed, carrot seed, angelica | fenouil, anis, badiane, aneth, carvi, cumin, coriandre, angélique | fenchel, anis, sternanis, dill, kümmel, koriander, angelika | hinojo, anís, eneldo, alcaravea, comino, cilantro, angélica | finocchio, anice, aneto, cumino, coriandolo, angelica |
aromatic | anthemis, chamomilla, matricaria, ormenis | chamomile, camomile | camomille | kamille | manzanilla, camomila | camomilla |
aromatic | boswellia, commiphora | frankincense, olibanum, myrrh | encens, oliban, myrrhe | weihrauch, myrrhe | incienso, olíbano, mirra | incenso, olibano, mirra |
aromatic | cinnamomum cassia | cassia | cannelle de chine, casse | kassia, cassia | casia | cassia | 8007-80-5 84961-46-6
aromatic | cinnamomum zeylanicum, cinnamomum verum | cinnamon, cinnamon bark, cinnamon leaf | cannelle | zimt | canela | cannella | 8015-91-6 84649-98-9
aromatic | cinnamomum | camphor, camphor tree, ho wood, ravintsara | camphrier, bois de hô, ravintsara | kampfer, ho blätter, ravintsara | alcanfor, ravintsara | canfora, ravintsara |
aromatic | eugenia caryophyllus, syzygium | clove, clove bud | clou de girofle, girofle | nelke, gewürznelke | clavo, clavo de olor | chiodi di garofano, garofano | 8000-34-8 8015-97-2 84961-50-2
aromatic | zingiber, elettaria, piper nigrum, curcuma, myristica, pimenta | ginger, cardamom, black pepper, turmeric, nutmeg, allspice, bay rum | gingembre, cardamome, poivre noir, curcuma, muscade | ingwer, kardamom, schwarzer pfeffer, kurkuma, muskat, piment | jengibre, cardamomo, pimienta negra, cúrcuma, nuez moscada | zenzero, cardamomo, pepe nero, curcuma, noce moscata |
aromatic | santalum, amyris | sandalwood, amyris | santal, bois de santal | sandelholz, amyris | sándalo | sandalo | 8006-87-9 84787-70-2
aromatic | vetiveria, chrysopogon | vetiver | vétiver | vetiver | vetiver | vetiver |
aromatic | pogostemon | patchouli | patchouli | patschuli, patchouli | pachulí | patchouli, patchouly | 8014-09-3 84238-39-1
aromatic | litsea | may chang, litsea | litsée, verveine exotique | litsea | litsea | litsea |
aromatic | lippia, aloysia | verbena, lemon verbena, vervain | verveine | verbene, eisenkraut | verbena, hierbaluisa | verbena | 8024-12-2 85116-63-8
aromatic | rosa damascena, rosa centifolia, rosa gallica, rosa alba, rosa moschata flower, rosa canina flower | rose, rose otto, damask rose | rose, rose de damas | rosenöl, rosenblüte | rosa | rosa | 8007-01-0 90106-38-0 93334-48-6 84696-47-9 84604-12-6 84604-13-7 92347-25-6
aromatic | jasminum | jasmine, jasmin | jasmin | jasmin | jazmín | gelsomino | 84776-64-7 90045-94-6 8022-96-6 8024-43-9
aromatic | narcissus | narcissus, daffodil | narcisse | narzisse | narciso | narciso | 90064-26-9 68917-12-4 90064-27-0 90064-25-8
aromatic | laurus | bay, bay laurel, bay leaf | laurier, laurier noble | lorbeer | laurel | alloro, lauro | 8002-41-3 8007-48-5 84603-73-6
aromatic | gaultheria, betula lenta | wintergreen, sweet birch | gaulthérie, wintergreen | wintergrün | gaulteria | gaultheria |
aromatic | melissa, hyssopus, helichrysum, artemisia, tagetes, valeriana, nardostachys, myrtus, aniba, achillea | lemon balm, melissa, hyssop, helichrysum, everlasting, mugwort, tagetes, valerian, spikenard, myrtle, rosewood, yarrow | mélisse, hysope, hélichryse, immortelle, armoise, valériane, myrte, bois de rose | melisse, ysop, immortelle, beifuss, baldrian, narde, myrte, rosenholz, schafgarbe | melisa, hisopo, helicriso, siempreviva, valeriana, mirto, palo de rosa | melissa, issopo, elicriso, valeriana, mirto |
aromatic | turpentine | turpentine | térébenthine | terpentin | trementina | trementina | 9005-90-7 8006-64-2 8052-14-0
essential | essential oil*, aetheroleum | essential oil, pure essential oil, aromatherapy oil | huile essentielle | ätherisches öl, ätherische öle, ätherischem öl, ätherischen ölen, ätherischöl, etherisches öl | aceite esencial, aceites esenciales | olio essenziale, oli essenziali |
perfume | parfum, fragrance, aroma | fragrance, fragrance oil, perfume, perfume oil, scent oil | parfum, fragrance | parfüm, duftöl, duftstoff, parfum | perfume, fragancia | profumo, fragranza |
foaming | *laureth sulfate, *lauryl sulfate, *coco sulfate, *myreth sulfate, *sulfoacetate, *sulfosuccinate, *olefin sulfonate, *c14 16 olefin*, cocamidopropyl*, lauramidopropyl*, *betaine, *glucoside, *isethionate, *sarcosinate, *cocoyl glutamate, *lauroyl glutamate, *methyl taurate, *cocoyl glycinate, *amphoacetate, *amphodiacetate, cocamide*, lauramide* | sles, sls, slsa, sci, slmi, sodium laureth sulphate, sodium lauryl sulphate, capb, foaming agent, foaming base, bubble bath base, foaming bath base, surfactant, castile soap, soap base, shampoo base, detergent | laureth sulfate de sodium, lauryl sulfate de sodium, tensioactif, agent moussant, base moussante, base lavante, savon de castille | natriumlaurethsulfat, natriumlaurylsulfat, natriumcocosulfat, kokosglucosid, tensid, schaumbildner, schaumbasis, kokosbetain | lauril sulfato*, laureth sulfato*, lauril éter sulfato*, tensioactivo, espumante, base espumante | laurilsolfato*, lauriletersolfato*, sodio laureth solfato, tensioattivo, schiumogeno, base schiumogena | 68585-34-2 9004-82-4 151-21-3 1847-58-1 61789-40-0 68439-57-6 68515-73-1 110615-47-9
melting | cera, *wax, *butter | wax, butter, paraffin, stearin | cire, beurre, paraffine, stéarine | wachs, butter, paraffin, stearin, kakaobutter, sheabutter, sojawachs, rapswachs | cera, manteca, parafina, estearina | cera, burro, paraffina, stearina |
melting | cocos nucifera oil, theobroma | coconut oil, cocoa butter, cacao butter | huile de coco, beurre de cacao | kokosöl, kokosfett, kakaobutter | aceite de coco, manteca de cacao | olio di cocco, burro di cacao |
colouring | mica | glitter, mica, petal, colorant, colourant, dye, food colouring, food coloring, flower powder, dried flowers | paillettes, mica, pétale, colorant | glitzer, glimmer, mica, blütenblätt, farbstoff, lebensmittelfarbe | purpurina, mica, pétalo, colorante | glitter, mica, petali, colorante |
cooling | menthol, menthyl lactate, camphor, eucalyptol, eucalyptus, mentha piperita, mentha arvensis | menthol, camphor, cineole, eucalyptol, eucalyptus, peppermint, cornmint | menthol, camphre, cinéole, eucalyptol, eucalyptus, menthe poivrée | menthol, kampfer, campher, cineol, eukalyptus, eucalyptus, pfefferminz | mentol, alcanfor, cineol, eucaliptol, eucalipto, menta piperita | mentolo, canfora, cineolo, eucaliptolo, eucalipto, menta piperita | 89-78-1 2216-51-5 76-22-2 464-49-3 470-82-6
spirit | alcohol denat, ethanol, isopropyl alcohol, sd alcohol* | ethanol, perfumer's alcohol, denatured alcohol, rubbing alcohol, vodka, isopropanol, methylated spirit | éthanol, alcool, alcool dénaturé | ethanol, alkohol, weingeist, vergällter alkohol, isopropanol | etanol, alcohol, alcohol desnaturalizado | etanolo, alcol, alcool | 64-17-5 67-63-0
"""  # noqa: E501  a row a material

# What makers write, and what lists of ingredients call it: by the glossary of common ingredient names where the Union's
# rules hold, in English in the United States (21 CFR 701.3(c)). From memory.
_SHORT: Final = """
sles: Sodium Laureth Sulfate | sls: Sodium Lauryl Sulfate | slsa: Sodium Lauryl Sulfoacetate
sci: Sodium Cocoyl Isethionate | capb: Cocamidopropyl Betaine | glycerine: Glycerin
vegetable glycerin: Glycerin | vegetable glycerine: Glycerin | vitamin e: Tocopherol
baking soda: Sodium Bicarbonate | epsom salt: Magnesium Sulfate | epsom salts: Magnesium Sulfate
"""
_PLAIN: Final = """
sweet almond oil: Prunus Amygdalus Dulcis Oil | almond oil: Prunus Amygdalus Dulcis Oil
shea butter: Butyrospermum Parkii Butter
cocoa butter: Theobroma Cacao Seed Butter
coconut oil: Cocos Nucifera Oil | olive oil: Olea Europaea Fruit Oil | sunflower oil: Helianthus Annuus Seed Oil
castor oil: Ricinus Communis Seed Oil | jojoba oil: Simmondsia Chinensis Seed Oil
argan oil: Argania Spinosa Kernel Oil | peanut oil: Arachis Hypogaea Oil | hazelnut oil: Corylus Avellana Seed Oil
walnut oil: Juglans Regia Seed Oil | avocado oil: Persea Gratissima Oil
beeswax: Cera Alba | honey: Mel | water: Aqua | fragrance: Parfum | fragrance oil: Parfum | perfume: Parfum
lavender oil: Lavandula Angustifolia Oil | lavender essential oil: Lavandula Angustifolia Oil
peppermint oil: Mentha Piperita Oil | peppermint essential oil: Mentha Piperita Oil
rosemary oil: Rosmarinus Officinalis Leaf Oil | rosemary essential oil: Rosmarinus Officinalis Leaf Oil
tea tree oil: Melaleuca Alternifolia Leaf Oil | sugar: Sucrose | salt: Sodium Chloride | sea salt: Maris Sal
"""
_NOT_ENGLISH: Final = """
aqua: Water | parfum: Fragrance | mel: Honey | cera alba: Beeswax | maris sal: Sea Salt
ci 19140: Yellow 5 | ci 15985: Yellow 6 | ci 47005: Yellow 10 | ci 16035: Red 40 | ci 17200: Red 33 | ci 42090: Blue 1
ci 42053: Green 3 | ci 61570: Green 5 | ci 77491: Iron Oxides | ci 77492: Iron Oxides | ci 77499: Iron Oxides
ci 77891: Titanium Dioxide | ci 77947: Zinc Oxide | ci 77019: Mica | ci 77007: Ultramarines | ci 75470: Carmine
ci 77288: Chromium Oxide Greens | ci 77289: Chromium Hydroxide Green | ci 77742: Manganese Violet | ci 75120: Annatto
"""
"""Colours by the names that 21 CFR 73 and 74 list them by, in short where the trade does; what is listed, and for which
use, is for the maker to look up."""

# Names that lists of such goods often have besides, by which a slip is known: INCI names, from memory.
_USUAL: Final = """
Sodium Olivate | Sodium Cocoate | Sodium Palmate | Sodium Palm Kernelate | Sodium Tallowate | Sodium Lardate
Sodium Castorate | Sodium Shea Butterate | Sodium Cocoa Butterate | Sodium Sunflowerseedate | Sodium Rapeseedate
Sodium Soybeanate | Sodium Avocadoate | Sodium Babassuate | Sodium Stearate | Sodium Laurate | Sodium Oleate
Sodium Palmitate | Sodium Lactate | Sodium Citrate | Sodium Chloride | Sodium Hydroxide | Sodium Bicarbonate
Sodium Carbonate | Sodium Benzoate | Sodium Gluconate | Potassium Olivate | Potassium Cocoate | Potassium Oleate
Potassium Stearate | Potassium Hydroxide | Potassium Sorbate | Sorbitol | Sucrose | Citric Acid | Stearic Acid
Lactic Acid | Benzoic Acid | Sorbic Acid | Dehydroacetic Acid | Tocopheryl Acetate | Phenoxyethanol | Benzyl Alcohol
Ethylhexylglycerin | Cetyl Alcohol | Cetearyl Alcohol | Stearyl Alcohol | Glyceryl Stearate | Glyceryl Oleate
Caprylic/Capric Triglyceride | Decyl Glucoside | Coco-Glucoside | Lauryl Glucoside | Xanthan Gum | Kaolin | Bentonite
Montmorillonite | Illite | Titanium Dioxide | Zinc Oxide | Zinc Stearate | Iron Oxides | Charcoal Powder | Silica
Magnesium Chloride | Magnesium Stearate | Zea Mays Starch | Solanum Tuberosum Starch | Elaeis Guineensis Oil
Elaeis Guineensis Kernel Oil | Brassica Campestris Seed Oil | Prunus Armeniaca Kernel Oil | Vitis Vinifera Seed Oil
Cannabis Sativa Seed Oil | Mangifera Indica Seed Butter | Oryza Sativa Bran Oil | Glycine Soja Oil
Sesamum Indicum Seed Oil | Calendula Officinalis Flower Extract | Aloe Barbadensis Leaf Juice
Avena Sativa Kernel Flour | Rosa Canina Fruit Oil
Euphorbia Cerifera Cera | Copernicia Cerifera Cera | Hydrogenated Vegetable Oil | Propylene Glycol | Propanediol
"""

LANGUAGES: Final = ("inci", "en", "fr", "de", "es", "it")
"""The columns of names; a German name takes what begins with it."""
_OIL: Final = r"\boils?\b|\bhuiles?\b|\baceites?\b|\bolio?\b|\boli\b|\bessen(?:ce|za|cia)\b|\bol(?:e|en|s)?\b"
_ABSOLUTE: Final = r"\babsol(?:ute|ue|u|uto|uta)\b"
# What only sounds like one of the table: pressed seeds, fruits of other plants, milk of plants, wax of no bee.
_NOT_AROMATIC: Final = re.compile(
    r"\brose ?hips?\b|\bpine ?nuts?\b|\bpinus pinea\b|\brosa canina (?:seed|fruit)\b|\brosa mosqueta\b|\bhagebutte"
)
_NOT_NUT: Final = re.compile(
    r"\bnoix de muscade\b|\bnuez moscada\b|\bnoce moscata\b|\b(?:nut|almond|peanut) ?free\b"
    r"|\bcoco (?:glucoside|betaine|sul(?:f|ph)ate|caprylate)\b"
)
_NOT_MILK: Final = re.compile(
    r"cocos|coconut|avena|\boats?\b|almond|amygdalus|oryza|\brice\b|glycine|\bsoy|\bcoco\b|avoine|amande|\briz\b|\bsoja"
    r"|hafer|mandel|kokos|\breis|almendra|arroz|mandorl|cocco|\briso\b|milk thistle|silybum|chardon"
)
_NOT_SPIRIT: Final = re.compile(r"\b(?:benzyl|cetyl|cetearyl|stearyl|behenyl|lanolin|phenethyl|anise|cinnamyl)\b")
_COLOUR_INDEX: Final = re.compile(r"\bci \d{5}\b")
_BARE_ALCOHOL: Final = re.compile(r"alcohol(?: denat)?")
_CAS: Final = re.compile(r"\b\d{2,7}-\d{2}-\d\b")
_OPEN: Final = "([{"
_CLOSE: Final = ")]}"
_ENDS: Final = ",;\n"
_MARKS: Final = re.compile(r"[](){}[,;\n]")


@dataclass(frozen=True, slots=True)
class Material:
    """A row of the table: kinds, names by column, CAS numbers."""

    kinds: tuple[str, ...]
    names: tuple[tuple[str, ...], ...]
    cas: tuple[str, ...]


def _rows() -> Iterator[Material]:
    for line in filter(None, _TABLE.splitlines()):
        kinds, *names, cas = (part.strip() for part in line.split("|"))
        columns = tuple(tuple(filter(None, (name.strip() for name in column.split(",")))) for column in names)
        yield Material(tuple(kind.strip() for kind in kinds.split(",")), columns, tuple(cas.split()))


_KEPT: Final = 32_768
"""Names and lists that are kept: more than a table has pieces, since every check asks for all of them in turn."""
MATERIALS: Final = tuple(_rows())


@lru_cache(maxsize=_KEPT)
def folded_name(text: str) -> str:
    """Return text as names are compared: small letters without accents, one space for all that is no letter or digit.

    >>> folded_name("Huile d’Amande Douce (Bio)")
    'huile d amande douce bio'
    """
    if not text.isascii():
        decomposed = unicodedata.normalize("NFKD", text.casefold())
        text = "".join(sign for sign in decomposed if not unicodedata.combining(sign))
    return " ".join(re.findall(r"[a-z0-9]+", text.lower()))


@lru_cache(maxsize=_KEPT)
def split_ingredients(text: str) -> tuple[str, ...]:
    """Return the ingredients of a list one by one; a comma within brackets divides nothing."""
    parts, start, depth = list[str](), 0, 0
    for mark in _MARKS.finditer(text):
        sign = mark[0]
        depth = max(depth + (sign in _OPEN) - (sign in _CLOSE), 0)
        if sign in _ENDS and not depth:
            parts.append(text[start : mark.start()])
            start = mark.end()
    parts.append(text[start:])
    named = (" ".join(part.split()).strip(" .") for part in parts)
    return tuple(part for part in named if part)


@cache
def latin_names() -> tuple[str, ...]:
    """Return the names of lists of ingredients (INCI) that are whole words, as they are compared."""
    names = (name for material in MATERIALS for name in material.names[0] if "*" not in name)
    return tuple(dict.fromkeys(folded_name(name) for name in names))


@cache
def label_names(*, english: bool) -> dict[str, str]:
    """Return what a list of ingredients calls things, by what makers write, folded.

    >>> label_names(english=False)["shea butter"], label_names(english=True)["aqua"]
    ('Butyrospermum Parkii Butter', 'Water')
    """
    written = f"{_SHORT.strip()}\n{(_NOT_ENGLISH if english else _PLAIN).strip()}"
    pairs = (pair.split(":") for pair in re.split(r"[|\n]", written))
    return {plain.strip(): name.strip() for plain, name in pairs}


@cache
def usual_names() -> tuple[str, ...]:
    """Return names that lists of ingredients often have, as a label writes them."""
    listed = (name.strip() for name in re.split(r"[|\n]", _USUAL))
    return tuple(dict.fromkeys((*label_names(english=False).values(), *filter(None, listed))))


def first_of(kind: str, text: str) -> str:
    """Return the first ingredient of a list that is of a kind, as it is written; "" where none is."""
    return next((name for name in split_ingredients(text) if kind in kinds_of(name)), "")


@lru_cache(maxsize=_KEPT)
def kinds_of(ingredient: str) -> frozenset[str]:
    """Return the kinds of one ingredient, by its names and any CAS number that it is written with.

    A perfume is called by what it smells of, so it has that kind alone, unless its name has essential oils in it.

    >>> sorted(kinds_of("Sweet Almond Oil"))
    ['nuts']
    >>> sorted(kinds_of("Lavender Essential Oil"))
    ['aromatic', 'essential']
    >>> sorted(kinds_of("Honey & Almond Fragrance Oil"))
    ['perfume']
    """
    name = folded_name(ingredient)
    kinds = {kind for kind, pattern in _patterns() if pattern.search(name)}
    if PERFUME in kinds:
        return frozenset(kinds & {PERFUME, ESSENTIAL})
    numbers = set(_CAS.findall(ingredient))
    with_number = (material for material in MATERIALS if numbers and not numbers.isdisjoint(material.cas))
    by_number = {kind for material in with_number for kind in material.kinds}
    if AROMATIC in by_number or (AROMATIC in kinds and _distilled().search(name) and not _NOT_AROMATIC.search(name)):
        kinds.add(ESSENTIAL)
    if _COLOUR_INDEX.search(name):
        kinds.add(COLOURING)
    if _BARE_ALCOHOL.fullmatch(name):
        kinds.add(SPIRIT)
    wrong = {NUTS: _NOT_NUT, MILK: _NOT_MILK, SPIRIT: _NOT_SPIRIT}
    return frozenset(kind for kind in kinds | by_number if not (kind in wrong and wrong[kind].search(name)))


@cache
def _distilled() -> re.Pattern[str]:
    """Return what tells that an aromatic plant's oil is meant: an oil in words, or plant and oil as one German word."""
    german = LANGUAGES.index("de")
    plants = (name for material in MATERIALS if AROMATIC in material.kinds for name in material.names[german])
    together = "|".join(re.escape(folded_name(plant)) for plant in plants)
    return re.compile(rf"{_OIL}|{_ABSOLUTE}|\b(?:{together})\w*ol(?:e|en|s)?\b")


@cache
def _patterns() -> tuple[tuple[str, re.Pattern[str]], ...]:
    """Return for each kind the pattern of all its names."""
    kinds = dict.fromkeys(kind for material in MATERIALS for kind in material.kinds)
    return tuple((kind, re.compile("|".join(dict.fromkeys(_alternatives(kind))))) for kind in kinds)


def _alternatives(kind: str) -> Iterator[str]:
    for material in (material for material in MATERIALS if kind in material.kinds):
        for language, names in zip(LANGUAGES, material.names, strict=True):
            for name in names:
                bare = re.escape(folded_name(name))
                before = r"\b\w*" if name.startswith("*") else r"\b"
                yield before + bare + (r"\w*" if name.endswith("*") or language == "de" else r"[sx]?\b")
