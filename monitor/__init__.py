"""Coldberth watches boats laid up for the winter and tells owner and yard in time."""
