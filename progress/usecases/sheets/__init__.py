"""Parts of opening a sheet and of recording its checks: entries, suggestions, problems."""
