"""The journal (SQLite), the views that pages read, and the history beyond it."""
