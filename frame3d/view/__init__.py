"""What is seen: scene, pictures, window, plots, drawings."""
