"""The page that shows a frame, and the local server that keeps it live."""
