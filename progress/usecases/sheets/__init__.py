"""Parts of recording checks: entries, what they name, and what is wrong with them."""
