"""How people are told: e-mail, webhooks and services from the outbox; alerts and the heartbeat at the broker."""
