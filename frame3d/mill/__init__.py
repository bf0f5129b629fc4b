"""Set-up of every cut at the mill, drilling, wraps, and the virtual mill that proves them."""
