"""Formulas: pure functions of numbers in SI units, each with its source."""
