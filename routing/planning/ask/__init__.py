"""Questions about a day that is planned or begun: an order of one's own, what if, whether all fits."""
