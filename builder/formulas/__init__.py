"""Formulas: read, checked for dimensions, evaluated in Python and compiled to JavaScript."""
