"""The nouns: vessel, sensor, reading, lay-up record, finding, alert. No I/O and no clock."""
