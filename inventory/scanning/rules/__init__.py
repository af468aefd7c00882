"""The scan, pure: a string becomes a code, a code moves the bench's small state."""
