"""Keeping an installation: backup and restore of database and files, and proof that what is kept is what was kept."""
