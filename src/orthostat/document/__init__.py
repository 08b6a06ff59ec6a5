"""The shop folder: plain TOML that people write, read into typed documents and written back.

In goes text; out come frozen documents that keep what was typed, or every `Problem` at once.
"""
