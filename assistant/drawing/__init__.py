"""Drawings made from numbers, as SVG."""
