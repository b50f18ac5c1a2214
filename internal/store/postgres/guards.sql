-- What was kept cannot be changed or taken away, whoever opens the database. These
-- guards need triggers, which not every engine has that speaks the protocol; the
-- store works without them and says so.
CREATE OR REPLACE FUNCTION weephole_never() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN
  IF TG_OP = 'DELETE' AND TG_TABLE_NAME IN ('entries', 'files') THEN
    IF EXISTS (SELECT 1 FROM jobs WHERE shop = OLD.shop AND id = OLD.job AND demo = 1) THEN
      RETURN OLD;
    END IF;
  END IF;
  IF TG_OP = 'DELETE' AND TG_TABLE_NAME = 'files' THEN
    -- CASE, because only bodies of this kind are sure to be read as JSON here.
    IF EXISTS (SELECT 1 FROM entries WHERE shop = OLD.shop AND job = OLD.job AND
        CASE WHEN kind = 'removed' THEN body::json ->> 'file' = OLD.name ELSE false END) THEN
      RETURN OLD;
    END IF;
  END IF;
  RAISE EXCEPTION 'what is kept in % is never changed or taken away', TG_TABLE_NAME;
END
$$;
CREATE OR REPLACE TRIGGER entries_never BEFORE UPDATE OR DELETE ON entries FOR EACH ROW EXECUTE FUNCTION weephole_never();
CREATE OR REPLACE TRIGGER files_never BEFORE UPDATE OR DELETE ON files FOR EACH ROW EXECUTE FUNCTION weephole_never();
CREATE OR REPLACE TRIGGER tally_never BEFORE UPDATE OR DELETE ON tally FOR EACH ROW EXECUTE FUNCTION weephole_never();
CREATE OR REPLACE TRIGGER jobs_never BEFORE DELETE ON jobs FOR EACH ROW WHEN (OLD.demo = 0) EXECUTE FUNCTION weephole_never();
