"""Forecasts: read, held against the limits of each kind of job, and told."""
