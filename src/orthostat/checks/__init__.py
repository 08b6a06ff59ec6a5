"""The questions: one function per finding, declared with `base.findings.finding`, found by itself.

Each function takes the evaluation and returns what it measured; margin and verdict are worked out in base.
"""
