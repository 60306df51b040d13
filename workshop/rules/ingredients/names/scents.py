"""Essential oils, absolutes and resins: their names by market.

Source: glossary names and CAS numbers by the Commission's inventory of cosmetic ingredients,
export of 30 December 2020, which is older than the glossary in force (Decision (EU) 2025/1175);
dictionary names and functions from memory. The owner's own names come first.
"""

from workshop.rules.ingredients.names.named import read_table

# By function: trade name; dictionary name; CAS numbers; glossary name where it is not the same
# without the English part; number of the Colour Index.
SCENTS = read_table("""
perfuming:
Lavender oil; Lavandula Angustifolia (Lavender) Oil; 8000-28-0 90063-37-9
Lavandin oil; Lavandula Hybrida (Lavandin) Oil; 8022-15-9 91722-69-9
Tea tree oil; Melaleuca Alternifolia (Tea Tree) Leaf Oil; 85085-48-9 68647-73-4
Peppermint oil; Mentha Piperita (Peppermint) Oil; 8006-90-4 84082-70-2
Spearmint oil; Mentha Viridis (Spearmint) Leaf Oil; 84696-51-5 8008-79-5
Eucalyptus globulus oil; Eucalyptus Globulus Leaf Oil; 8000-48-4 97926-40-4
Eucalyptus radiata oil; Eucalyptus Radiata Leaf/Stem Oil; 92201-64-4
Rosemary oil; Rosmarinus Officinalis (Rosemary) Leaf Oil; 84604-14-8 8000-25-7
Sweet orange oil; Citrus Aurantium Dulcis (Orange) Peel Oil; 8008-57-9 8028-48-6
Lemon oil; Citrus Limon (Lemon) Peel Oil; 8008-56-8 84929-31-7
Lime oil; Citrus Aurantifolia Peel Oil; 8008-26-2; Citrus Aurantifolia Peel Oil Expressed
Lime oil, distilled; Citrus Aurantifolia (Lime) Oil; 8008-26-2
Grapefruit oil; Citrus Paradisi (Grapefruit) Peel Oil; 8016-20-4 90045-43-5
Bergamot oil; Citrus Aurantium Bergamia (Bergamot) Peel Oil; 89957-91-5 8007-75-8
Bergamot oil FCF; Citrus Aurantium Bergamia (Bergamot) Fruit Oil; 8007-75-8 89957-91-5
Mandarin oil; Citrus Reticulata (Tangerine) Peel Oil; 8008-31-9 84929-38-4
Litsea cubeba oil; Litsea Cubeba Fruit Oil; 68855-99-2 90063-59-5
Lemongrass oil; Cymbopogon Schoenanthus (Lemongrass) Oil; 8007-02-1 89998-16-3 91844-92-7
Citronella oil, Java; Cymbopogon Winterianus (Citronella) Herb Oil; 91771-61-8
Geranium oil; Pelargonium Graveolens (Geranium) Oil; 90082-51-2 8000-46-2
Palmarosa oil; Cymbopogon Martini (Palmarosa) Oil; 84649-81-0 8014-19-5
Rose oil (otto); Rosa Damascena Flower Oil; 90106-38-0 8007-01-0
Rose absolute; Rosa Damascena Flower Extract; 90106-38-0
Jasmine absolute; Jasminum Grandiflorum (Jasmine) Flower Extract; 84776-64-7 8022-96-6
Ylang ylang oil; Cananga Odorata (Ylang Ylang) Flower Oil; 83863-30-3 8006-81-3
Neroli oil; Citrus Aurantium Amara (Bitter Orange) Flower Oil; 68916-04-1 8016-38-4 72968-50-4
Petitgrain oil; Citrus Aurantium Amara (Bitter Orange) Leaf/Twig Oil; 68916-04-1 8014-17-3
Clary sage oil; Salvia Sclarea (Clary) Oil; 8016-63-5 84775-83-7
Sage oil, Dalmatian; Salvia Officinalis (Sage) Oil; 8022-56-8 84776-73-8
Thyme oil, thymol type; Thymus Vulgaris (Thyme) Oil; 84929-51-1 8007-46-3
Oregano oil; Origanum Vulgare Oil; 84012-24-8 8007-11-2
Clove bud oil; Eugenia Caryophyllus (Clove) Bud Oil; 84961-50-2 8000-34-8
Cinnamon leaf oil; Cinnamomum Zeylanicum Leaf Oil; 84649-98-9 8015-91-6
Cinnamon bark oil; Cinnamomum Zeylanicum (Cinnamon) Bark Oil; 84649-98-9 8015-91-6
Nutmeg oil; Myristica Fragrans (Nutmeg) Kernel Oil; 8007-12-3 8008-45-5 84082-68-8
Ginger oil; Zingiber Officinale (Ginger) Root Oil; 8007-08-7 84696-15-1
Black pepper oil; Piper Nigrum (Pepper) Fruit Oil; 84929-41-9 8006-82-4
Cardamom oil; Elettaria Cardamomum Seed Oil; 8000-66-6 85940-32-5
Coriander seed oil; Coriandrum Sativum (Coriander) Fruit Oil; 8008-52-4 84775-50-8
Fennel oil; Foeniculum Vulgare (Fennel) Oil; 8006-84-6 84625-39-8
Anise oil; Pimpinella Anisum (Anise) Fruit Oil; 84775-42-8 8007-70-3
Basil oil, linalool type; Ocimum Basilicum (Basil) Oil; 84775-71-3 8015-73-4
Marjoram oil, sweet; Origanum Majorana Leaf Oil; 84082-58-6 8015-01-8
Juniper berry oil; Juniperus Communis Fruit Oil; 8002-68-4 8012-91-7 84603-69-0
Cedarwood oil, Atlas; Cedrus Atlantica Wood Oil; 92201-55-3 8023-85-6
Cedarwood oil, Virginia; Juniperus Virginiana Oil; 8000-27-9 85085-41-2
Cedarwood oil, Texas; Juniperus Mexicana Oil; 68990-83-0 91722-61-1
Pine needle oil, Scots; Pinus Sylvestris Leaf Oil; 8023-99-2 84012-35-1
Fir needle oil, Siberian; Abies Sibirica (Fir) Needle Oil; 91697-89-1 8021-29-2
Cypress oil; Cupressus Sempervirens Leaf/Nut/Stem Oil; 84696-07-1 8013-86-3
Patchouli oil; Pogostemon Cablin (Patchouli) Leaf Oil; 8014-09-3 84238-39-1
Vetiver oil; Vetiveria Zizanoides Root Oil; 8016-96-4 84238-29-9
Sandalwood oil, East Indian; Santalum Album (Sandalwood) Oil; 8006-87-9 84787-70-2
Frankincense oil; Boswellia Carterii Oil; 89957-98-2 8050-07-5
Myrrh oil; Commiphora Myrrha Oil; 84929-26-0 8016-37-3
Benzoin resinoid, Siam; Styrax Tonkinensis Resin Extract; 9000-72-0
Peru balsam oil; Myroxylon Pereirae (Balsam Peru) Oil; 8007-00-9
Chamomile oil, Roman; Anthemis Nobilis (Chamomile) Flower Oil; 84649-86-5 8015-92-7
Chamomile oil, German; Chamomilla Recutita (Matricaria) Flower Oil; 8002-66-2 84082-60-0
Helichrysum oil; Helichrysum Italicum Flower Oil; 90045-56-0 8023-95-8
Yarrow oil; Achillea Millefolium Oil; 8022-07-9 84082-83-7
Vanilla extract; Vanilla Planifolia Fruit Extract; 8024-06-4 84650-63-5
""")
