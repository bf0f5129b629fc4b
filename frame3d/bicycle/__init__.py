"""Rider and geometry numbers into a frame; handling and clearance numbers."""
