"""Labels: beginnings of a crew-day, lengthened node by node, in columns of arrays, compiled."""
