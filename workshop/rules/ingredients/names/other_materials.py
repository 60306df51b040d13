"""Water, lye, acids, herbs, clays, colours, emulsifiers, preservatives: their names by market.

Source: glossary names and CAS numbers by the Commission's inventory of cosmetic ingredients,
export of 30 December 2020, which is older than the glossary in force (Decision (EU) 2025/1175);
dictionary names and functions from memory. The owner's own names come first.
"""

from workshop.rules.ingredients.names.named import read_table

# By function: trade name; dictionary name; CAS numbers; glossary name where it is not the same
# without the English part; number of the Colour Index.
OTHER_MATERIALS = read_table("""
abrasive:
Pumice, ground; Pumice; 1332-09-8
Walnut shell powder; Juglans Regia (Walnut) Shell Powder; 84012-43-1
Poppy seed; Papaver Somniferum Seed; 84650-40-8
Coffee grounds; Coffea Arabica (Coffee) Seed Powder; 84650-00-0
Oats, rolled (scrub); Avena Sativa (Oat) Kernel Meal; 84012-26-0
absorbent:
Kaolin (white clay); Kaolin; 1332-58-7
Bentonite clay; Bentonite; 1302-78-9
Green clay (illite); Illite; 12173-60-3
Red or rose clay; Kaolin; 1332-58-7
Rhassoul (ghassoul) clay; Moroccan Lava Clay; 12417-86-6
antioxidant:
Rosemary CO2 extract (antioxidant); Rosmarinus Officinalis (Rosemary) Leaf Extract; 84604-14-8
Vitamin E, mixed tocopherols; Tocopherol; 54-28-4 59-02-9 1406-66-2
Vitamin E acetate; Tocopheryl Acetate; 7695-91-2 58-95-7
buffering:
Sodium hydroxide; Sodium Hydroxide; 1310-73-2
Potassium hydroxide; Potassium Hydroxide; 1310-58-3
Sodium carbonate (soda ash); Sodium Carbonate; 497-19-8
Citric acid, anhydrous; Citric Acid; 77-92-9
Citric acid monohydrate; Citric Acid; 77-92-9 5949-29-1
Lactic acid 100 % basis; Lactic Acid; 50-21-5
colorant:
Iron oxide red; Iron Oxides (CI 77491); 1309-37-1; CI 77491; CI 77491
Iron oxide yellow; Iron Oxides (CI 77492); 51274-00-1; CI 77492; CI 77492
Iron oxide black; Iron Oxides (CI 77499); 12227-89-3 1317-61-9; CI 77499; CI 77499
Titanium dioxide; Titanium Dioxide (CI 77891); 13463-67-7; CI 77891; CI 77891
Zinc oxide; Zinc Oxide (CI 77947); 1314-13-2; CI 77947; CI 77947
Ultramarine blue (pink, violet); Ultramarines (CI 77007); 57455-37-5 1317-97-1; CI 77007; CI 77007
Mica; Mica (CI 77019); 12001-26-2; Mica; CI 77019
Chromium oxide green; Chromium Oxide Greens (CI 77288); 1308-38-9; CI 77288; CI 77288
Chromium hydroxide green; Chromium Hydroxide Green (CI 77289); 1308-14-1; CI 77289; CI 77289
Annatto; Annatto (CI 75120); 1393-63-1; CI 75120; CI 75120
Turmeric; Curcuma Longa (Turmeric) Root Powder; 84775-52-0; ; CI 75300
Spirulina; Spirulina Platensis Powder; 223751-80-2
Charcoal, activated (plant); Charcoal Powder; 16291-96-6; ; CI 77268:1
Carmine; Carmine (CI 75470); 1390-65-4 1260-17-9; CI 75470; CI 75470
emulsifying:
Polyglyceryl-4 oleate; Polyglyceryl-4 Oleate; 9007-48-1 71012-10-7
Glyceryl stearate; Glyceryl Stearate; 31566-31-1
Cetearyl olivate; Cetearyl Olivate
Sorbitan olivate; Sorbitan Olivate; 223706-40-9
Cetearyl glucoside; Cetearyl Glucoside; 246159-33-1
Cetearyl alcohol; Cetearyl Alcohol; 67762-27-0 8005-44-5
Lecithin (liquid); Lecithin; 8002-43-5
Polysorbate 20; Polysorbate 20; 9005-64-5
humectant:
Sugar (sucrose); Sucrose; 57-50-1
Honey; Honey; 8028-66-8; Mel
humectant, solvent:
Glycerin (vegetable); Glycerin; 56-81-5
Alcohol (ethanol); Alcohol; 64-17-5
preservative:
Potassium sorbate; Potassium Sorbate; 24634-61-5
Sodium benzoate; Sodium Benzoate; 532-32-1
Benzyl alcohol; Benzyl Alcohol; 100-51-6
Dehydroacetic acid; Dehydroacetic Acid; 520-45-6
Phenoxyethanol; Phenoxyethanol; 122-99-6
skin conditioning:
Goat milk powder; Goat Milk; ; Caprae Lac
Coconut milk powder; Cocos Nucifera (Coconut) Fruit Powder; 8001-31-8
Colloidal oatmeal; Avena Sativa (Oat) Kernel Flour; 134134-86-4
Calendula flowers, dried; Calendula Officinalis Flower; 84776-23-8
Chamomile flowers, German; Chamomilla Recutita (Matricaria) Flower; 84082-60-0
Comfrey leaf; Symphytum Officinale Leaf Powder; 84696-05-9
Plantain leaf, broad; Plantago Major Leaf Extract; 84929-43-1
St John's wort flowers; Hypericum Perforatum Flower Extract; 84082-80-4
Lavender flowers, dried; Lavandula Angustifolia (Lavender) Flower; 90063-37-9
Rose petals, dried; Rosa Damascena Flower; 90106-38-0
Rosemary leaf, dried; Rosmarinus Officinalis (Rosemary) Leaf; 84604-14-8
Nettle leaf, dried; Urtica Dioica (Nettle) Leaf Powder; 84012-40-8
Arnica flowers; Arnica Montana Flower; 68990-11-4
Yarrow herb; Achillea Millefolium Extract; 84082-83-7
Marshmallow root; Althaea Officinalis Root; 73049-65-7
Green tea leaf; Camellia Sinensis Leaf; 84650-60-2
Calendula CO2 extract; Calendula Officinalis Flower Extract; 84776-23-8
Vanilla extract or CO2; Vanilla Planifolia Fruit Extract; 8024-06-4
Menthol crystals; Menthol; 89-78-1 1490-04-6 2216-51-5 15356-60-2
Camphor; Camphor; 76-22-2 464-49-3 21368-68-3 464-48-2
Zinc ricinoleate; Zinc Ricinoleate; 13040-19-2
Propolis extract; Propolis Extract; 85665-41-4
Royal jelly; Royal Jelly; 8031-67-2
Silk powder / tussah silk; Silk Powder; 9009-99-8; Serica Powder
solvent:
Water (distilled); Water; 7732-18-5; Aqua
Rose hydrosol; Rosa Damascena Flower Water; 90106-38-0
Lavender hydrosol; Lavandula Angustifolia (Lavender) Flower Water; 90063-37-9
Witch hazel water; Hamamelis Virginiana (Witch Hazel) Water; 84696-19-5
Aloe vera juice (inner leaf); Aloe Barbadensis Leaf Juice; 85507-69-3
viscosity controlling:
Sodium lactate 60 % solution; Sodium Lactate; 72-17-3
Sodium citrate dihydrate; Sodium Citrate; 6132-04-3
Sodium bicarbonate (baking soda); Sodium Bicarbonate; 144-55-8
Salt (table or fine); Sodium Chloride; 7647-14-5
Sea salt / Dead Sea salt; Sea Salt; 7647-14-5; Maris Sal
Epsom salt; Magnesium Sulfate; 10034-99-8
Xanthan gum; Xanthan Gum; 11138-66-2
Guar gum; Cyamopsis Tetragonoloba (Guar) Gum; 9000-30-0
Silica (amorphous); Silica; 7631-86-9
Corn starch; Zea Mays (Corn) Starch; 9005-25-8
Arrowroot powder; Maranta Arundinacea Root Powder
Tapioca starch; Tapioca Starch; 9005-25-8
""")
