from hypothesis import settings

# A shared machine stalls for longer than hypothesis' 200 ms now and then; that says nothing about a formula.
settings.register_profile("science", deadline=None)
settings.load_profile("science")
