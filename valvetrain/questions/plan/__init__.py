"""One joint plan for the whole engine, proved by asking again."""
