"""Formulas: plain numbers in, plain numbers out."""
