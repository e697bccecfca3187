"""The key of the tests' records."""

KEY = b"MDEyMzQ1Njc4OTAxMjM0NTY3ODkwMTIzNDU2Nzg5MDE="
"""A Fernet key for tests."""
