"""Checks on what was built: links, pages, quantities, figures, procedure, formulas, coverage.

Lives here: judges of finished results, each a plain function giving diagnostics. May not live here: anything
that builds or repairs.
"""
