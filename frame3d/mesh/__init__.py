"""Mesh files: STL, 3MF, GLB, OBJ and PLY."""
