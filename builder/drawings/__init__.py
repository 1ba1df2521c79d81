"""Drawings computed from data, as SVG: one file a drawing, over one layout and one scale."""
