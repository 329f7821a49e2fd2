"""The commands, one module each. A module ``why_not`` holds ``command``, a click command that the
program offers as ``why-not``; its module docstring's first line is the summary in ``--help``."""
