"""Problem files: read with line and column, checked, and turned into frozen data in SI units."""
