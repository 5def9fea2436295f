"""Who is told, how and when: e-mail, and alerts retained at the broker."""
