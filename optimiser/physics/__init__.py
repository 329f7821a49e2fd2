"""Physics: pure functions in SI units and radians, keyword-only, vectorised over numpy arrays.

Each module has one subject and imports nothing of the rest of the program. A value that makes no
sense (negative, zero where a size is due, not a number) raises ValueError and says so in words.
"""
