"""From the wire to a parcel: the MQTT session, the topics, and the forms a payload may have."""
