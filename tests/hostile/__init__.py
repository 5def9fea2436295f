"""Every input is hostile: payloads, questions, names, bodies and secrets, tried against the real parts."""
