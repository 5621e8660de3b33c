"""What leaves the farm, and that nothing in it is taken for code."""
