"""The command line: verbs and their arguments in, text or JSON on the terminal out."""
