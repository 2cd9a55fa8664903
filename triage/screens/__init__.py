"""The full-screen program: four places over one bench file. The only package that imports Textual.

Screens show and send: what they show comes from `triage.actions`, and what is done goes there.
"""
