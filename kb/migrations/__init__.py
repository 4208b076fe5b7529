"""The schema's history (Alembic); run through ``kb.migrate``."""
