"""The steps from each form of the database to the next, run by Alembic; one file a step in `versions`."""
