"""3D frame model and fit checker with mesh export."""
