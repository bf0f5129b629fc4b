"""Mill set-up, saws and speeds, trimming, drilling, wraps."""
