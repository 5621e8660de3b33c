"""The problem in whole numbers, and the time and load of an order."""
