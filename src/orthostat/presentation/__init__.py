"""What people see, before anybody decides where: tables, figures and sentences.

Blocks come out of results and findings; the leaves (terminal, page, book) render blocks and do no
arithmetic.
"""
