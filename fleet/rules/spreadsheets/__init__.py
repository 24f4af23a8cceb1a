"""A contractor's own spreadsheet: what its headings, days, places, people and equipment most likely mean.

Nothing here decides in silence. A text that can be read one way is read; anything else is left for a person to say.
"""
