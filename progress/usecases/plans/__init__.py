"""The plan of one class on one day: what it starts from, and what a coach fixes by hand."""
