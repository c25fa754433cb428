"""The web server: waitress, with limits on what a caller may take of it before anybody is asked who that is."""
