"""How Alembic reaches the store: by the connection that ``store.migrate`` hands it."""

from alembic import context

from sawready.store.tables import METADATA

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=METADATA,
    transactional_ddl=True,
)
with context.begin_transaction():
    context.run_migrations()
