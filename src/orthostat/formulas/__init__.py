"""Published results, one function each: plain floats in, plain floats out, no I/O.

Each docstring names the result, its equation, where it is published, where it holds, and one worked number.
"""
