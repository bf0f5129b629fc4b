"""What the errors of a real shop do to a joint: each alone, all together, and the care needed."""
