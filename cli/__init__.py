"""The commands, one small module each."""
