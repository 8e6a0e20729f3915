"""Cams: motion laws, lift tables, cards, events, lash and the ramps."""
