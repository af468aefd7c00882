"""Making backups and archives, and taking them in again."""
