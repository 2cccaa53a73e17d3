"""Each event gets the position of its transaction; those that exist keep their order."""

from django.db import migrations, models
from django.db.models.expressions import Func, Value

# One row: in which era of positions the database is. A server has one count of transactions; on another server
# that count may be lower, so that there the next era begins, whose positions all lie above the earlier ones.
_ERA = """
CREATE TABLE crews_eventera (
    one boolean PRIMARY KEY DEFAULT true CHECK (one),
    server bigint NOT NULL,
    era bigint NOT NULL
);
INSERT INTO crews_eventera (server, era) SELECT system_identifier, 0 FROM pg_control_system();
CREATE SEQUENCE crews_event_ordinal;
CREATE FUNCTION roundlay_event_position() RETURNS bigint LANGUAGE plpgsql VOLATILE AS $$
DECLARE
    here bigint := (SELECT system_identifier FROM pg_control_system());
    found_era bigint := (SELECT era FROM crews_eventera WHERE server = here);
BEGIN
    IF found_era IS NULL THEN
        INSERT INTO crews_eventera AS held (server, era) VALUES (here, 0)
        ON CONFLICT (one) DO UPDATE SET server = excluded.server, era = held.era + 1
        WHERE held.server <> excluded.server;
        SELECT era INTO STRICT found_era FROM crews_eventera WHERE server = here;
    END IF;
    RETURN (found_era << 44) + pg_current_xact_id()::text::bigint;
END $$;
"""
_NO_ERA = """
DROP FUNCTION roundlay_event_position();
DROP SEQUENCE crews_event_ordinal;
DROP TABLE crews_eventera;
"""
_IN_ORDER = """
UPDATE crews_event SET ordinal = place
FROM (SELECT id AS of, row_number() OVER (ORDER BY at, id) AS place FROM crews_event) AS ordered
WHERE id = of;
"""


class Migration(migrations.Migration):
    dependencies = [("crews", "0003_names_of_members")]

    operations = [
        migrations.RunSQL(_ERA, _NO_ERA),
        migrations.AddField(
            "event",
            "position",
            models.BigIntegerField(db_default=Func(function="roundlay_event_position")),
        ),
        migrations.AddField(
            "event",
            "ordinal",
            models.BigIntegerField(db_default=Func(Value("crews_event_ordinal"), function="nextval")),
        ),
        migrations.RunSQL(_IN_ORDER, migrations.RunSQL.noop),
    ]
