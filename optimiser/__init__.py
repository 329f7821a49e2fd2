"""Constraint-solver design optimiser for private screening rooms."""

__version__ = "0.1.0"
