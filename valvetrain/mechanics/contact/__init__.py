"""Contacts: pressure, film, rubbing and wear."""
