"""Findings put into words: templates a language, and the messages made of them."""
