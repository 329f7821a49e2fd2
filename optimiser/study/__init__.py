"""Studies: many solves that together show the shape of a choice: fronts, sweeps, many rooms.

They call only the solver, through one runner, and keep what they find line by line.
"""
