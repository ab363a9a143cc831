"""Have the database itself refuse a change to what an attempt says.

On SQLite, Django alters most tables by making a new one, and the old one's triggers go with it.
Any later migration that alters progress_attempt must therefore run ``create`` again afterwards;
tests/models/test_attempts.py fails where one forgets. Only changes are refused: deleting is left
to the model, because erasing a person and emptying a test database both need it.
"""

from django.db import NotSupportedError, migrations

FACTS = (
    "id",
    "uid",
    "athlete_id",
    "skill_id",
    "variant_id",
    "at",
    "result",
    "coach_id",
    "supersedes_id",
    "taken_back",
)
COLUMNS = ", ".join(f'"{column}"' for column in FACTS)
MESSAGE = "Attempts are never changed: add a new one that supersedes it."

# Both databases report these as broken integrity, so callers need to know one error only.
CREATE = {
    "sqlite": (
        f"""
        CREATE TRIGGER attempt_facts_stay BEFORE UPDATE OF {COLUMNS} ON progress_attempt
        BEGIN SELECT RAISE(ABORT, '{MESSAGE}'); END
        """,
    ),
    "postgresql": (
        f"""
        CREATE FUNCTION attempt_facts_stay() RETURNS trigger LANGUAGE plpgsql AS $$
        BEGIN RAISE EXCEPTION '{MESSAGE}' USING ERRCODE = 'restrict_violation'; END $$
        """,
        f"""
        CREATE TRIGGER attempt_facts_stay BEFORE UPDATE OF {COLUMNS} ON progress_attempt
        FOR EACH ROW EXECUTE FUNCTION attempt_facts_stay()
        """,
    ),
}
DROP = {
    "sqlite": ("DROP TRIGGER IF EXISTS attempt_facts_stay",),
    "postgresql": (
        "DROP TRIGGER IF EXISTS attempt_facts_stay ON progress_attempt",
        "DROP FUNCTION IF EXISTS attempt_facts_stay()",
    ),
}


def run(schema_editor, statements):
    """Run this database's statements as they stand, without parameters."""
    vendor = schema_editor.connection.vendor
    if vendor not in statements:
        raise NotSupportedError(f"The log is kept on SQLite or PostgreSQL, not on {vendor}.")
    for statement in statements[vendor]:
        schema_editor.execute(statement, params=None)


def create(apps, schema_editor):
    """Make the trigger, in place of an older one of the same name."""
    drop(apps, schema_editor)
    run(schema_editor, CREATE)


def drop(apps, schema_editor):
    """Take the trigger away; the model still refuses."""
    run(schema_editor, DROP)


class Migration(migrations.Migration):
    dependencies = [("progress", "0001_initial")]
    operations = [migrations.RunPython(create, drop, elidable=False)]
