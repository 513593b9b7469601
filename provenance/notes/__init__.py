"""A finding in words and pictures: notes, records, plots, the report, all text on the screen."""
