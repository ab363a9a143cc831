"""What families do and what staff do for them: private links, rights, consents, erasure."""
