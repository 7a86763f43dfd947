"""The words for ids and parameters, one file a language; the one shape of a diagnostic.

Lives here: text and how it is put together. May not live here: figures, rules, anything that decides.
"""
