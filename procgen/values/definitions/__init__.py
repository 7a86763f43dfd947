"""Which formula is fed from which leaf, one module an area of the trade."""
