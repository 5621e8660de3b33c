"""How likely a round holds, and the orders by which it holds most surely."""
