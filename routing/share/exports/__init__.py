"""The round in the forms of other programs."""
