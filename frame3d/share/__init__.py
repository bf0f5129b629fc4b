"""Meshes out, pictures, the viewer page, PDF pages."""
