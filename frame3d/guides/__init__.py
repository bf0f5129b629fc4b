"""Printable guides."""
