"""Mutation testing of the engineering floor: each formula is changed a little, and a test must notice.

``python -m tests.mutation [MODULE…]`` from the checkout. Nothing here is part of the test run or of procgen.
"""
