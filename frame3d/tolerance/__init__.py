"""What the errors of a real shop do to a joint, measured tubes, and the care needed."""
