"""``python -m procgen``: the command line."""

from procgen.cli import main

main()
