"""Manifold3d solids: tubes, copes, holes."""
