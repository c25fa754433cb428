"""Sentences and numbers as pages, reports and spreadsheets print them. What is signed is worded here."""
