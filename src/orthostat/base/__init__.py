"""What every room stands on: units, frames, references, problems, findings.

Nothing here knows a column; it imports no other room and does no I/O.
"""
