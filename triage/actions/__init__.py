"""What a person can do, one function each; the screens and the command line call only these.

Each loads what it needs, calls the engines, writes one event in one transaction, and returns plain data.
"""
