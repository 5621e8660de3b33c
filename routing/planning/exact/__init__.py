"""One crew-day solved to proof: subset dynamic programme, elementary labelling, constraint programme."""
