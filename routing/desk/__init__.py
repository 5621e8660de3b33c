"""The page on one's own machine to work in: no rule of the trade and no arithmetic of its own."""
