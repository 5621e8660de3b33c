"""Plan the round of a bee farmer's out-apiaries."""
