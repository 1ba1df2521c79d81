"""Benchlore: a checked course folder in, a teaching site and its papers out."""

__version__ = "0.1.0"
