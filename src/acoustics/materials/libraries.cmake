# The tables of data/ become part of the program.
roomwright_texts(${target} roomwright::acoustics table data csv surfaces porous_boards resistivity_relations)
