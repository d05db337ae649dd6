"""Ringwright: a shop planner for segmented woodturning."""

__version__ = "0.1.0"
