"""The room of the sheet that hangs on the wall: a floor on one A4 page."""
