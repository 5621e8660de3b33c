"""Bounds that hold for every round: column generation over ng-routes, and spanning trees."""
