"""Arguments -> pipeline -> report -> exit code; no arithmetic.

Commands import what they need when they run, so that ``artcheck --help`` is quick.
"""
