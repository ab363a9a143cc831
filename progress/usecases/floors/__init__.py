"""Planning a week's floor: copy a setup, change its loops and stations, publish it."""
