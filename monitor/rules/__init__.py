"""The rules: one hazard a file. `monitor.rules.rule` is their contract, `monitor.rules.book` lists them."""
