"""Printed documents of a guide: what goes on paper, from the fragments and drawings that the site shows.

The print engine is known to ``engine`` alone; nothing here computes or words a figure of its own.
"""
