"""Printable guides: sleeves that slip over a tube and lead saw, scriber or file along its cope."""
