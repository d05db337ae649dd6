"""Sheets of paper: our own SVG and words set by typst into PDF, always with the same fonts."""
