"""Pure functions of the trade's physics on SI floats, each with units, valid range and source.

Lives here: formulas. May not live here: anything that knows a profile, a guide, a message or a page.
"""
