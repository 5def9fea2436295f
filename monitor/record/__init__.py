"""What the lay-up record asks of people: what must be put right before she floats, and what nobody can see aboard."""
