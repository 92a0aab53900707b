"""Pure numbers: what the nursery's own lots say over the handbook's expectations.

NumPy and SciPy only; nothing of the project, no Django.
"""
