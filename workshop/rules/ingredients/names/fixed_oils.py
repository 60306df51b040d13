"""Fixed oils, butters, waxes and what is made of them: their names by market.

Source: glossary names and CAS numbers by the Commission's inventory of cosmetic ingredients,
export of 30 December 2020, which is older than the glossary in force (Decision (EU) 2025/1175);
dictionary names and functions from memory. The owner's own names come first.
"""

from workshop.rules.ingredients.names.named import read_table

# By function: trade name; dictionary name; CAS numbers; glossary name where it is not the same
# without the English part; number of the Colour Index.
FIXED_OILS = read_table("""
emollient:
Olive oil; Olea Europaea (Olive) Fruit Oil; 8001-25-0
Coconut oil; Cocos Nucifera (Coconut) Oil; 8001-31-8
Palm oil; Elaeis Guineensis (Palm) Oil; 8002-75-3
Palm kernel oil; Elaeis Guineensis (Palm) Kernel Oil; 8023-79-8
Sunflower oil; Helianthus Annuus (Sunflower) Seed Oil; 8001-21-6
Sunflower oil, high oleic; Helianthus Annuus (Sunflower) Seed Oil; 8001-21-6
Rapeseed oil, low erucic (canola); Canola Oil; 89958-03-2; Brassica Napus Seed Oil
Castor oil; Ricinus Communis (Castor) Seed Oil; 8001-79-4
Almond oil, sweet; Prunus Amygdalus Dulcis (Sweet Almond) Oil; 8007-69-0
Apricot kernel oil; Prunus Armeniaca (Apricot) Kernel Oil; 68650-44-2
Avocado oil; Persea Gratissima (Avocado) Oil; 8024-32-6
Jojoba oil; Simmondsia Chinensis (Jojoba) Seed Oil; 90045-98-0
Argan oil; Argania Spinosa (Argan) Kernel Oil; 223747-87-3
Grapeseed oil; Vitis Vinifera (Grape) Seed Oil; 85594-37-2
Hemp seed oil; Cannabis Sativa (Hemp) Seed Oil; 89958-21-4
Rice bran oil; Oryza Sativa (Rice) Bran Oil; 68553-81-1
Sesame oil; Sesamum Indicum (Sesame) Seed Oil; 8008-74-0
Soybean oil; Glycine Soja (Soybean) Oil; 8001-22-7
Safflower oil; Carthamus Tinctorius (Safflower) Seed Oil; 8001-23-8
Macadamia oil; Macadamia Integrifolia Seed Oil; 438545-25-6
Hazelnut oil; Corylus Avellana (Hazel) Seed Oil; 84012-21-5
Rosehip seed oil; Rosa Canina Seed Oil
Evening primrose oil; Oenothera Biennis (Evening Primrose) Oil; 90028-66-3
Borage oil; Borago Officinalis Seed Oil; 225234-12-8
Flaxseed oil; Linum Usitatissimum (Linseed) Seed Oil; 8001-26-1
Wheat germ oil; Triticum Vulgare (Wheat) Germ Oil; 68917-73-7
Babassu oil; Orbignya Oleifera Seed Oil; 91078-92-1
Neem oil; Azadirachta Indica Seed Oil; 8002-65-1
Tamanu oil; Calophyllum Inophyllum Seed Oil
Sea buckthorn fruit oil; Hippophae Rhamnoides Fruit Oil; 225234-03-7
Pumpkin seed oil; Cucurbita Pepo (Pumpkin) Seed Oil; 8016-49-7
Camellia seed oil; Camellia Oleifera Seed Oil; 225233-97-6
Moringa seed oil; Moringa Oleifera Seed Oil; 93165-54-9
Meadowfoam seed oil; Limnanthes Alba (Meadowfoam) Seed Oil; 153065-40-8
Cocoa butter; Theobroma Cacao (Cocoa) Seed Butter; 84649-99-0
Shea butter; Butyrospermum Parkii (Shea) Butter; 194043-92-0
Mango butter; Mangifera Indica (Mango) Seed Butter; 90063-86-8
Kokum butter; Garcinia Indica Seed Butter
Cupuacu butter; Theobroma Grandiflorum Seed Butter; 394236-97-6
Murumuru butter; Astrocaryum Murumuru Seed Butter; 356065-49-1
Sal butter; Shorea Robusta Seed Butter; 225234-08-2
Illipe butter; Shorea Stenoptera Seed Butter; 91770-65-9
Lard; Lard; 61789-99-9; Adeps Suillus
Tallow, beef; Tallow; 61789-97-7; Adeps Bovis
Caprylic/capric triglyceride (fractionated coconut); Caprylic/Capric Triglyceride; 73398-61-5
Squalane; Squalane; 111-01-3
emulsifying:
Stearic acid; Stearic Acid; 57-11-4
Palmitic acid; Palmitic Acid; 57-10-3
emulsion stabilising:
Cetyl alcohol; Cetyl Alcohol; 36653-82-4
Cetearyl alcohol; Cetearyl Alcohol; 67762-27-0
film forming, viscosity controlling:
Castor oil, hydrogenated; Hydrogenated Castor Oil; 8001-78-3
Lanolin; Lanolin; 8006-54-0
Beeswax, yellow; Beeswax; 8006-40-4; Cera Alba
Beeswax, white; Beeswax; 8012-89-3; Cera Alba
Candelilla wax; Euphorbia Cerifera (Candelilla) Wax; 8006-44-8; Euphorbia Cerifera Cera
Carnauba wax; Copernicia Cerifera (Carnauba) Wax; 8015-86-9; Copernicia Cerifera Cera
Rice bran wax; Oryza Sativa (Rice) Bran Wax; 8016-60-2; Oryza Sativa Cera
Berry wax; Rhus Verniciflua Peel Wax; ; Rhus Verniciflua Peel Cera
Sunflower wax; Helianthus Annuus (Sunflower) Seed Wax; 68937-99-5; Helianthus Annuus Seed Cera
Soy wax; Hydrogenated Soybean Oil; 8016-70-4
""")
