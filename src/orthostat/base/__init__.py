"""What every room stands on: units, frames, references, problems, findings, answers that are kept.

Nothing here knows a column; it imports no other room and does no I/O.
"""
