"""The folder of CSV files: its format as data, how it is read, checked, stored and written."""
