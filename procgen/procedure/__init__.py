"""Jinja environment, block tags and the Procedure model: parts, steps, notices, readings, holds.

Lives here: everything between a template and a rendered fragment. May not live here: pages, files, MkDocs.
"""
