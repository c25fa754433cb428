"""What each column is for, what a person says about it, and a layout made ready for reading."""
