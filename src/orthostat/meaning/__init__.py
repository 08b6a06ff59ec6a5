"""From documents to the model: names resolved, units dropped, shapes laid out.

In go a shop and a column as read; out comes one frozen `model.Column`, or every `Problem` that no
single key can show (a tool that is not there, plates thicker than the column, two equal names).
"""
