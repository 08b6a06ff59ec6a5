"""The page: a shop folder in, a local site on 127.0.0.1 out that shows it, edits it and answers.

Documents are edited here; the answers are worked out in processes beside this one (`worker`), so
that typing never waits for an analysis.
"""
