"""The one unit registry: parsing, pairing, rounding, gauge and absolute pressure.

Lives here: everything that knows what a unit is. May not live here: anything that knows a profile,
a guide or a page.
"""
