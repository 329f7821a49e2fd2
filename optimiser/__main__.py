"""``python -m optimiser``."""

from optimiser.cli import main

main()
