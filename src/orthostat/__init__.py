"""orthostat: will this workholding column do its job, how do we make it, what comes next?

A shop folder (TOML, CSV) goes in; findings, figures and tables come out. Start with `open_shop`.
"""
